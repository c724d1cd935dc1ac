/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many shots of each kind settle the question?
 *
 * Two questions, one per function family: to _detect a difference that is really there, and to
 * show _equivalence, that what difference there is stays within a margin.  The scatter sigma is
 * that of single shots within a group, the same in both, and normal.  Where sigma is itself an
 * estimate from a few shots, ask at both ends of its interval (_sigma): the number goes with its
 * square, and is honest only as a range.
 */
#ifndef SHOTTRACE_SIGNAL_SAMPLE_SIZE_H
#define SHOTTRACE_SIGNAL_SAMPLE_SIZE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The chance that a two-sided t test finds a true difference, groups of n and m, together 3 or
 * more.
 *   difference, sigma  in the same unit, sigma > 0
 *   alpha              of the test, 0 < alpha < 1
 * NaN where an argument is outside its range.
 * Source: noncentral t, e.g. Cohen 1988, 'Statistical Power Analysis for the Behavioral Sciences',
 * 2nd ed., section 2.3 and 12.2. */
SHOT_API double shot_sample_size_detect_power(double difference, double sigma, size_t n, size_t m,
                                              double alpha);

/* The chance that two one-sided tests at alpha show a true difference to be within +-margin,
 * groups of n and m, together 3 or more.  NaN where an argument is outside its range; within 1e-6.
 * Source: Phillips 1990, 'Power of the two one-sided tests procedure in bioequivalence', J.
 * Pharmacokinet. Biopharm. 18(2):137-144. */
SHOT_API double shot_sample_size_equivalence_power(double margin, double difference, double sigma,
                                                   size_t n, size_t m, double alpha);

/* The smallest n, for two groups of n each, that reaches the power: to detect a true difference of
 * that size; to show equivalence within the margin when there is no difference.
 *   power  alpha < power < 1, e.g. 0.8
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR where it would take more than 1e6 each. */
SHOT_API shot_status shot_sample_size_detect(double difference, double sigma, double alpha,
                                             double power, size_t *n);
SHOT_API shot_status shot_sample_size_equivalence(double margin, double sigma, double alpha,
                                                  double power, size_t *n);

/* The smallest true difference that groups of n and m find with that power; limits as above.
 * *difference is NaN on failure. */
SHOT_API shot_status shot_sample_size_detectable(double sigma, size_t n, size_t m, double alpha,
                                                 double power, double *difference);

/* The same of pairs, whose differences scatter by sigma: the test has pairs - 1 degrees of freedom,
 * and 2 pairs are the fewest.  Source: Cohen 1988, section 2.3.5. */
SHOT_API double shot_sample_size_detect_power_of_pairs(double difference, double sigma,
                                                       size_t pairs, double alpha);
SHOT_API shot_status shot_sample_size_detect_pairs(double difference, double sigma, double alpha,
                                                   double power, size_t *pairs);
SHOT_API shot_status shot_sample_size_equivalence_pairs(double margin, double sigma, double alpha,
                                                        double power, size_t *pairs);
SHOT_API shot_status shot_sample_size_detectable_pairs(double sigma, size_t pairs, double alpha,
                                                       double power, double *difference);

/* Interval of the true scatter behind a standard deviation sd with df degrees of freedom:
 * sd sqrt(df/chi2) at both quantiles.  Returns SHOT_OK or SHOT_ERR_RANGE. */
SHOT_API shot_status shot_sample_size_sigma(double sd, double df, double level, double *low,
                                            double *high);

#ifdef __cplusplus
}
#endif
#endif
