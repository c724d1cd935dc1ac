/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A time as a person types it. */
#include "filter/typed_time.h"

#include <shottrace/trace/log_time.h>

shot_status typed_time_read(const char *text, typed_time *out) {
    out->from_first_row = *text == '+';
    return shot_log_time_read(text, &out->clock);
}

bool typed_time_is_after(const typed_time *a, const typed_time *b) {
    return a->from_first_row == b->from_first_row && shot_decimal_compare(&a->clock, &b->clock) > 0;
}

shot_status typed_time_settle(const typed_time *time, const shot_decimal *origin, double first,
                              double *out) {
    shot_decimal clock = time->clock, start;
    if (time->from_first_row) {
        if (shot_log_time_from_trace(first, origin, &start) != SHOT_OK)
            return SHOT_ERR_SINGULAR;
        SHOT_TRY(shot_decimal_add(&clock, &start));
    }
    *out = shot_log_time_to_trace(&clock, origin);
    return SHOT_OK;
}
