/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The variance of a weighted sum of samples whose noise has variance 1 and is correlated as that of
 * a first-order autoregression, by exp(-|t - u| / time) (Box, Jenkins & Reinsel 2008, 'Time Series
 * Analysis', ch. 3): the sum over i, k of w_i w_k exp(-|t_i - t_k| / time).  One sum runs along,
 * since what lies before fades alike for all that follows. */
#ifndef SHOT_SIGNAL_CORRELATED_VARIANCE_H
#define SHOT_SIGNAL_CORRELATED_VARIANCE_H

#include <math.h>
#include <stddef.h>

typedef struct correlated_variance {
    double total;  /* of the samples so far */
    double behind; /* their weights, each faded to the time of the last one */
    double last;   /* that time */
} correlated_variance;

/* How much of the noise is left after so many seconds; `time` 0 for white noise. */
static inline double correlated_share(double seconds, double time) {
    return time > 0 ? exp(-seconds / time) : 0;
}

/* The next sample; `sum` begins zeroed. */
static inline void correlated_variance_add(correlated_variance *sum, double t, double weight,
                                           double time) {
    if (sum->behind != 0) /* before the first sample nothing fades, however long it is */
        sum->behind *= correlated_share(t - sum->last, time);
    sum->total += weight * (weight + 2 * sum->behind);
    sum->behind += weight;
    sum->last = t;
}

/* Of all samples; t rising [n]. */
static inline double correlated_variance_of(const double *t, const double *weight, size_t n,
                                            double time) {
    correlated_variance sum = {0};
    for (size_t i = 0; i < n; i++)
        correlated_variance_add(&sum, t[i], weight[i], time);
    return sum.total;
}

#endif
