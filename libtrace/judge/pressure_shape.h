/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape of the pressure during a brew: held, changing evenly, stepped, or bent. */
#ifndef SHOT_JUDGE_PRESSURE_SHAPE_H
#define SHOT_JUDGE_PRESSURE_SHAPE_H

#include "judge/measure_parts.h"

typedef struct pressure_shape {
    const char *words;    /* static; NULL if too few samples tell */
    double step, step_at; /* bar, and s on the log's clock, where it is stepped; else NaN */
    double bend, bend_at; /* the change beside the part that is held, where it is bent; else NaN */
} pressure_shape;

/* `line` is the straight line through the pressure of the brew.  SHOT_ERR_MEMORY. */
shot_status shot_pressure_shape(const shot_view *view, const shot_straight_line *line,
                                pressure_shape *out);

#endif
