/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares of a level, a slope and a power of the time since an instant, for one instant after
 * the other.
 *
 *     y = b + d (t - t0) + c max(t - t0, 0)^p
 *
 *     power_fit fit;
 *     power_fit_begin(&fit, t, y, n, sloped, work);
 *     power_fit_level(&fit, level, weight);              what is known of b, if anything
 *     for each t0: power_fit_at(&fit, t0); for p = 1, 2, ...: power_fit_next(&fit, &c, &squares);
 */
#ifndef SHOT_SIGNAL_POWER_FIT_H
#define SHOT_SIGNAL_POWER_FIT_H

#include <stdbool.h>
#include <stddef.h>

typedef struct power_fit {
    size_t n;
    bool sloped;
    double weight, level;                /* of the known level; weight 0: nothing is known */
    double t_first, y_first;             /* what times and values are measured from */
    double *t, *y;                       /* [n] */
    double *u, *way;                     /* [n]: t - t0, and its power where it is positive */
    size_t first;                        /* of the samples behind t0 */
    int power;                           /* that `way` holds */
    double sum_u, sum_uu, sum_y, sum_uy; /* sum_u and on: of this t0 */
} power_fit;

/* Doubles that power_fit_begin needs as its workspace. */
size_t power_fit_workspace(size_t n);

/* n samples with t rising; they are copied.  d is 0 unless `sloped`. */
void power_fit_begin(power_fit *fit, const double *t, const double *y, size_t n, bool sloped,
                     double *work);

/* b is known to be `level` as if `weight` samples at t0 said so. */
void power_fit_level(power_fit *fit, double level, double weight);

/* Take this instant; the next power is 1. */
void power_fit_at(power_fit *fit, double t0);

/* The next power: its coefficient c, and the sum of squares of what is left (that of the known
 * level included).  False where the samples do not fix the curve. */
bool power_fit_next(power_fit *fit, double *c, double *squares);

#endif
