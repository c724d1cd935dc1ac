/* SPDX-License-Identifier: GPL-3.0-or-later */
/* In which steps are the figures of a sensor written?
 *
 *     double quantum = shot_resolution(y, n);
 *     floor = quantum / 2;                     scatter below this cannot show
 */
#ifndef SHOTTRACE_SIGNAL_RESOLUTION_H
#define SHOTTRACE_SIGNAL_RESOLUTION_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The step of y[0..n-1] (NaN where missing): the smallest change from one value to the next, or a
 * half to a fifth of it, where there are at least ten changes to judge by and nine in ten of the
 * small ones are its multiples.  A larger step of the series below counts instead where there are
 * at least twenty changes and nine in ten of all are its multiples: the others lie between, as
 * means of merged rows do.  Else the largest step of the series 1, 0.5, 0.25, 0.2, 0.1, 0.05 ...
 * 1e-6 of which all values are whole multiples: what the digits suggest.  0 if none is, or without
 * values.  Where the figures are quarters that lost a digit (0.2, 0.5, 0.8, 1.0: steps of 0.25
 * written in tenths), as at least twenty changes and no figure between them tell, it is the
 * quarter.  Changes smaller than 1e-9 of the values, or of the largest of all, are rounding, not
 * changes.  Nothing is allocated.  (Common practice, no source.) */
SHOT_API double shot_resolution(const double *y, size_t n);

#ifdef __cplusplus
}
#endif
#endif
