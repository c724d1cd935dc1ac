/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures and the intervals that they must lie in.  Internal to puck/. */
#ifndef SHOT_PUCK_LIMITS_H
#define SHOT_PUCK_LIMITS_H

#include <shottrace/status.h>

struct limit {
    const char *name;
    double value, low, high; /* ends included */
};

/* SHOT_OK, or SHOT_ERR_RANGE with a sentence that names the first figure outside its interval. */
shot_status limits_check(const struct limit *limit, size_t count, shot_error *error);

#endif
