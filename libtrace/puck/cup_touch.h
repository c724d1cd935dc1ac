/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A cup on a scale only gains, and no faster than water can run: where its weight falls for good,
 * or leaps, the scale was tared or the cup put on, loaded or lifted off. */
#ifndef SHOT_PUCK_CUP_TOUCH_H
#define SHOT_PUCK_CUP_TOUCH_H

#include <stdbool.h>
#include <stddef.h>

/* What a scale showed, without missing samples; borrowed. */
typedef struct cup_weight {
    const double *t, *y; /* [n] */
    size_t n;
    double spacing; /* s, usual between samples */
    double blur;    /* g, what noise and rounding do */
} cup_weight;

/* What noise of that standard deviation and inflation, and a step of the figures, do. */
double cup_blur(double sd, double inflation, double step);

/* Common practice, no source. */
#define CUP_JUDGED_OVER  1.0 /* s, at least, over which a weight is judged */
#define CUP_KNOCK        0.5 /* s in which a cup that was knocked comes to rest */
#define CUP_LEAST_CHANGE 1.0 /* g for good: drops that run off a scale are less */

/* s over which a weight is judged, by the spacing of its samples. */
double cup_window(double spacing);

/* May water alone, and noise, lead from one sample to a later one?  Else a hand did it. */
bool cup_may_lead(const cup_weight *weight, size_t from, size_t to);

/* The first sample from i on around which the cup is touched, or is not; n if there is none.  A
 * touch shows from a window before it until a window behind it. */
size_t cup_next_touch(const cup_weight *weight, size_t i, bool touched);

#endif
