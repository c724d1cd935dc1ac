/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How an interpolated value depends on the samples around it: for the propagation of errors.
 *
 *     shot_sample_weights w;
 *     shot_linear_weights(t, y, n, &at, 1, &w);
 *     for (size_t k = 0; k < w.count; k++)
 *         value += w.weight[k] * y[w.first + k], variance += w.weight[k] * w.weight[k];
 *
 * The weights are the partial derivatives of the value (JCGM 100:2008, 'Guide to the expression of
 * uncertainty in measurement', 5.1.3).  A linear interpolant has the same for any samples; for the
 * monotone cubic they hold near the samples at hand.  They sum to 1, and since the value goes up by
 * a factor where all samples do, value = sum of weight * sample for the cubic too.
 */
#ifndef SHOTTRACE_SIGNAL_SAMPLE_WEIGHTS_H
#define SHOTTRACE_SIGNAL_SAMPLE_WEIGHTS_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { SHOT_SAMPLE_WEIGHTS_MOST = 8 };

typedef struct shot_sample_weights {
    size_t first, count; /* of samples first .. first + count - 1; none: the value is missing */
    double weight[SHOT_SAMPLE_WEIGHTS_MOST];
} shot_sample_weights;

/* The weights of shot_linear, shot_monotone_cubic and shot_lagrange, with their arguments.
 *   out    weights of each value [m]
 * SHOT_ERR_RANGE as they do; `out` is then untouched. */
SHOT_API shot_status shot_linear_weights(const double *t, const double *y, size_t n,
                                         const double *at, size_t m, shot_sample_weights *out);
SHOT_API shot_status shot_monotone_cubic_weights(const double *t, const double *y, size_t n,
                                                 const double *at, size_t m,
                                                 shot_sample_weights *out);
SHOT_API shot_status shot_lagrange_weights(const double *t, const double *y, size_t n,
                                           const double *at, size_t m, shot_sample_weights *out);

#ifdef __cplusplus
}
#endif
#endif
