/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The value of a rank among values that are too many to be laid out, where how many lie up to a
 * limit is quickly told: differences or slopes of all pairs. */
#ifndef SHOT_SIGNAL_RANK_VALUE_H
#define SHOT_SIGNAL_RANK_VALUE_H

#include <stddef.h>

/* How many of the values are <= limit, a whole number that does not fall as the limit rises. */
typedef double values_up_to(double limit, void *context);

/* The least double with `rank` values up to it (1 is the smallest), by halving: 64 counts. */
double rank_value(values_up_to *count, void *context, double rank);

/* The quantile p of `n` values, interpolated as shot_sample_quantile does. */
double rank_value_quantile(values_up_to *count, void *context, double n, double p);

#endif
