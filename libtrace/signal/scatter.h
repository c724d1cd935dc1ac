/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far the samples of a channel scatter from one to the next. */
#ifndef SHOT_SIGNAL_SCATTER_H
#define SHOT_SIGNAL_SCATTER_H

#include <stdbool.h>
#include <stddef.h>

/* How far each sample lies off the line through its two neighbours, in the unit in which white
 * noise of SD 1 has SD 1: sample i at out[i - 1], n - 2 in all. */
void scatter_residuals(const double *t, const double *y, size_t n, double *out);

/* Standard deviation of the noise in samples, at least half the step of their figures.
 *   t, y   [n], t rising, y not missing
 *   work   [n] doubles */
double scatter_of(const double *t, const double *y, size_t n, double *work);

/* Whether `times` that is less than `limit`, in less time where it clearly is not; the residuals of
 * the samples, [n - 2], are known. */
bool scatter_is_below(const double *residuals, const double *y, size_t n, double limit,
                      double times, double *work);

#endif
