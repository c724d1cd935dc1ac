/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape of the pressure during a brew: held, changing evenly, or stepped. */
#ifndef SHOT_JUDGE_PRESSURE_SHAPE_H
#define SHOT_JUDGE_PRESSURE_SHAPE_H

#include "judge/measure_parts.h"

typedef struct pressure_shape {
    const char *words; /* static; NULL if too few samples tell */
    double step, at;   /* bar and s, where it is stepped; else NaN */
} pressure_shape;

/* `line` is the straight line through the pressure of the brew.  SHOT_ERR_MEMORY. */
shot_status shot_pressure_shape(const shot_view *view, const shot_straight_line *line,
                                pressure_shape *out);

#endif
