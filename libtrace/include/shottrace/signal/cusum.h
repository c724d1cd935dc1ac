/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cumulative sums: is the level still what it was?  One test while the samples arrive (Page), one
 * over a finished series.
 *
 *     shot_cusum cusum = {.reference = 0.5};
 *     shot_cusum_threshold(0.5, SHOT_CUSUM_BOTH, samples_per_shot, 0.01, &cusum.threshold);
 *     for (each sample)
 *         if (shot_cusum_push(&cusum, (y - usual) / sd) > 0)
 *             printf("rose, since %zu samples\n", cusum.up_run);
 *
 * Sources.  Page 1954, 'Continuous inspection schemes', Biometrika 41:100-115.  Thresholds:
 * Siegmund 1985, 'Sequential Analysis: Tests and Confidence Intervals', section II.6, the corrected
 * diffusion approximation.  Over a finished series: Ploberger & Kramer 1992, 'The CUSUM test with
 * OLS residuals', Econometrica 60:271-285. */
#ifndef SHOTTRACE_SIGNAL_CUSUM_H
#define SHOTTRACE_SIGNAL_CUSUM_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_cusum_sides { SHOT_CUSUM_ONE = 1, SHOT_CUSUM_BOTH = 2 } shot_cusum_sides;

/* The caller holds this; it needs no freeing.  Set the two settings, all else zero. */
typedef struct shot_cusum {
    double reference; /* half the shift that must be found soonest, in noise SD, >= 0 */
    double threshold; /* alarm when a sum exceeds it, in noise SD, > 0 */
    double up, down;  /* the sums */
    size_t up_run, down_run; /* samples since each sum last was 0: an estimate of how long ago the
                                shift began (Page 1954) */
} shot_cusum;

/* Take one sample, less its usual level and in units of its SD (for correlated noise the root of
 * the long-run variance).  NaN is passed over.  Returns 1 while the upper sum is above the
 * threshold, -1 while the lower is, 0 otherwise; a one-sided test looks at 1 alone. */
SHOT_API int shot_cusum_push(shot_cusum *cusum, double z);

/* Back to zero, settings kept. */
SHOT_API void shot_cusum_reset(shot_cusum *cusum);

/* Mean number of samples to an alarm when the level has shifted by `shift` SD:
 *     (exp(-2 d b) + 2 d b - 1) / (2 d^2),  d = shift - reference,  b = threshold + 1.166
 * and b^2 for d = 0; both sides alarm at the sum of their rates.  White normal noise. */
SHOT_API double shot_cusum_run_length(double reference, double threshold, shot_cusum_sides sides,
                                      double shift);

/* The threshold that white normal noise exceeds within n samples with probability `alarm_rate`:
 * run lengths without a shift are close to exponential, so the mean must be -n / ln(1 - rate).
 *   reference > 0, n >= 1, 0 < alarm_rate < 1
 * Errors: SHOT_ERR_RANGE. */
SHOT_API shot_status shot_cusum_threshold(double reference, shot_cusum_sides sides, double n,
                                          double alarm_rate, double *threshold);

typedef struct shot_cusum_test {
    double statistic; /* largest |cumulative sum of residuals| / (sd sqrt(used)) */
    size_t at;        /* number of samples of the series up to the largest */
    double p;         /* probability of as large a statistic for a constant level */
} shot_cusum_test;

/* Test a finished series for a constant level, against its own mean and SD (n - 1).
 *   y          NaN where missing                                       [n]
 *   inflation  long-run variance over variance, 1 for white noise, > 0
 * The probability is that of the largest excursion of a Brownian bridge, good for n from 50 on and
 * careful below.  Errors: SHOT_ERR_RANGE, SHOT_ERR_SINGULAR (fewer than 2 samples, or all equal). */
SHOT_API shot_status shot_cusum_ols(const double *y, size_t n, double inflation,
                                    shot_cusum_test *out);

#ifdef __cplusplus
}
#endif
#endif
