/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Counting values under a limit: where a median lies is often told by that alone. */
#ifndef SHOT_SIGNAL_COUNT_BELOW_H
#define SHOT_SIGNAL_COUNT_BELOW_H

#include <stddef.h>

/* How many of x[0..n-1] are less than the limit, a whole number; NaN is not. */
double count_below(const double *x, size_t n, double limit);

#endif
