/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two groups: their difference, how sure it is, how large it is against the scatter, and whether
 * they are the same for all that matters.
 *
 *     shot_moments a = shot_moments_find(before, n), b = shot_moments_find(after, m);
 *     shot_t_test test;
 *     shot_two_sample_welch(&a, &b, 0.95, &test);
 *     printf("%g, 95 %% interval %g to %g\n", test.difference, test.low, test.high);
 *
 * All functions return SHOT_OK, SHOT_ERR_RANGE where an argument is outside its range, or
 * SHOT_ERR_SINGULAR where the data cannot answer: fewer than two values in a group that must
 * show its scatter, or no scatter at all.  *out is untouched on failure.
 */
#ifndef SHOTTRACE_SIGNAL_TWO_SAMPLE_H
#define SHOTTRACE_SIGNAL_TWO_SAMPLE_H

#include <stddef.h>

#include <shottrace/signal/moments.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_t_test {
    double difference; /* mean of a less mean of b */
    double se;         /* standard error of the difference */
    double df;         /* degrees of freedom */
    double t;          /* difference / se */
    double p;          /* two-sided */
    double low, high;  /* interval of the difference at the level asked for */
} shot_t_test;

/* The test of a difference whose standard error and degrees of freedom are known already.
 *   se     > 0
 *   df     > 0 */
SHOT_API shot_status shot_two_sample_test(double difference, double se, double df, double level,
                                          shot_t_test *out);

/* Welch's test: each group has its own scatter.
 *   a, b   at least two values each
 *   level  of the interval, 0 < level < 1
 * Source: Welch 1947, 'The generalization of Student's problem when several different population
 * variances are involved', Biometrika 34:28-35; degrees of freedom after Satterthwaite 1946. */
SHOT_API shot_status shot_two_sample_welch(const shot_moments *a, const shot_moments *b,
                                           double level, shot_t_test *out);

/* Student's test with one scatter for both groups; one of them may be a single value.
 * Source: Student 1908, 'The probable error of a mean', Biometrika 6:1-25; Fisher 1925. */
SHOT_API shot_status shot_two_sample_pooled(const shot_moments *a, const shot_moments *b,
                                            double level, shot_t_test *out);

/* Student's test of the differences a[i] - b[i]; pairs with a missing value are left out. */
SHOT_API shot_status shot_two_sample_paired(const double *a, const double *b, size_t n,
                                            double level, shot_t_test *out);

/* Hedges' g: the difference in units of the pooled standard deviation, corrected for its bias, with
 * the interval that the noncentral t distribution gives.  Normal groups of equal scatter.
 * Source: Hedges 1981, 'Distribution theory for Glass's estimator of effect size and related
 * estimators', J. Educ. Stat. 6(2):107-128; interval by inversion: Steiger & Fouladi 1997. */
typedef struct shot_effect_size {
    double g, low, high;
} shot_effect_size;
SHOT_API shot_status shot_two_sample_hedges(const shot_moments *a, const shot_moments *b,
                                            double level, shot_effect_size *out);

/* The same of any difference in units of the scatter `sd` of single values, sd > 0 with the degrees
 * of freedom of the test. */
SHOT_API shot_status shot_two_sample_effect(const shot_t_test *test, double sd, double level,
                                            shot_effect_size *out);

/* Two one-sided tests: is the true difference within -margin .. margin?
 *   test    a difference with its standard error and degrees of freedom, as made above
 *   margin  > 0, in units of the data
 *   p       the larger of the two one-sided p values: at most alpha means the same within the
 *           margin, and then the 1 - 2 alpha interval lies inside it
 * Source: Schuirmann 1987, 'A comparison of the two one-sided tests procedure and the power
 * approach for assessing the equivalence of average bioavailability', J. Pharmacokinet.
 * Biopharm. 15(6):657-680. */
SHOT_API shot_status shot_two_sample_equivalence(const shot_t_test *test, double margin, double *p);

#ifdef __cplusplus
}
#endif
#endif
