/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running integral of a stream of samples on any times, and how much of their noise it carries.
 *
 *     shot_integral *integral;
 *     shot_integral_new(&(shot_integral_rule){.degree = 1, .longest = 1, .bridge = true},
 *                       &integral);
 *     for each sample:
 *         shot_integral_push(integral, t, y);
 *         while (shot_integral_next(integral, &at)) use at.value
 *     shot_integral_finish(integral);
 *     and once more the line with _next
 *     shot_integral_free(integral);
 *
 * Degree 1 is the trapezoid rule.  Degree 3 integrates, over each interval, the cubic through the
 * four samples about it (at the ends the first or last four; through as many as there are where
 * there are fewer): exact for cubics on any grid of four samples or more, with a look-ahead of one
 * sample that has a value.  Where neighbouring intervals differ very much in length a cubic through
 * noisy samples swings wide: `gain` shows it.
 *
 * Source: Gill & Miller 1972, 'An algorithm for the integration of unequally spaced data', Comput.
 * J. 15:80-83.
 */
#ifndef SHOTTRACE_SIGNAL_INTEGRAL_H
#define SHOTTRACE_SIGNAL_INTEGRAL_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_integral_rule {
    int degree;     /* of the polynomials that are integrated exactly: 1 or 3 */
    double longest; /* s: samples farther apart than this have a gap between them, > 0;
                       INFINITY for none */
    bool bridge;    /* over a gap the integral follows the straight line between its ends; false:
                       it is unknown (NaN) from there on */
    double correlation; /* of the noise: s in which it falls to 1/e, 0 for independent noise */
} shot_integral_rule;

typedef struct shot_integral_at {
    double value; /* integral from the first sample with a value to this one; NaN where the sample
                     is missing, and after a gap that is not bridged */
    double gain;  /* its variance for noise of variance 1 in each sample, that of a first-order
                     autoregression where it is correlated, s^2 */
    double gap;   /* s: the length of a gap that ends at this sample, else 0 */
} shot_integral_at;

typedef struct shot_integral shot_integral;

/* Free with shot_integral_free.  SHOT_ERR_RANGE for another degree or a `longest` that is not above
 * 0; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_integral_new(const shot_integral_rule *rule, shot_integral **out);

/* Add a sample: t finite and after the last, y NaN where missing.
 * SHOT_ERR_DATA where the time does not rise; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_integral_push(shot_integral *integral, double t, double y);

/* There are no more samples. */
SHOT_API void shot_integral_finish(shot_integral *integral);

/* The integral at the next sample, one for each that was pushed, in order; false if it is not known
 * yet. */
SHOT_API bool shot_integral_next(shot_integral *integral, shot_integral_at *at);

/* Forget all samples and start over. */
SHOT_API void shot_integral_reset(shot_integral *integral);

SHOT_API void shot_integral_free(shot_integral *integral);

#ifdef __cplusplus
}
#endif
#endif
