/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise of a channel from what a description by pieces leaves of it. */
#ifndef SHOT_DETECT_KNEE_RESIDUAL_H
#define SHOT_DETECT_KNEE_RESIDUAL_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/noise.h>

/* Of a correlation over many samples the differences of neighbours, by which `told` is known, hold
 * little; the residuals of a description hold all of it.  residual[n] are those of `pieces` pieces
 * of so many parameters each (a level 1, a line 2).  Returns that noise, or `told` where the series
 * is too short to tell. */
shot_noise knee_residual_noise(const shot_noise *told, const double *residual, size_t n,
                               size_t pieces, size_t parameters);

/* The variance of a long mean, times its samples. */
double knee_long_run_variance(const shot_noise *noise);

/* Is it larger for `left`, which n residuals told, than chance makes it?  (By three standard
 * errors.) */
bool knee_residual_shows_more(const shot_noise *told, const shot_noise *left, size_t n);

#endif
