/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures and the intervals that they must lie in. */
#include "puck/limits.h"

shot_status limits_check(const struct limit *limit, size_t count, shot_error *error) {
    for (size_t i = 0; i < count; i++)
        if (!(limit[i].value >= limit[i].low && limit[i].value <= limit[i].high))
            return shot_fail(error, SHOT_ERR_RANGE, "%s is %g; it must lie from %g to %g",
                             limit[i].name, limit[i].value, limit[i].low, limit[i].high);
    return SHOT_OK;
}
