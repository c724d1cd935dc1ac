/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tests in which an answer must be given, and guessing is right now and then: the odd cup of three,
 * the better of two.
 *
 *     shot_forced_choice_p(9, 12, 1.0 / 3)          0.0039: guessing gets there so seldom
 *     shot_forced_choice_needed(12, 1.0 / 3, 0.05)  8 right answers
 *
 * The tests may be of one taster or of several, and some of each: without a difference every answer
 * is a guess of its own (Kunert & Meyners 1999, 'On the triangle test with replications', Food
 * Quality and Preference 10:477-482).
 * Sources: ISO 4120:2004 (triangle test), ISO 5495:2005 (paired comparison): binomial.
 */
#ifndef SHOTTRACE_SIGNAL_FORCED_CHOICE_H
#define SHOTTRACE_SIGNAL_FORCED_CHOICE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The chance that guessing alone gives `right` or more of n.
 *   right  0 to n
 *   guess  the chance of a right guess, 0 < guess < 1; here and below */
SHOT_API double shot_forced_choice_p(size_t right, size_t n, double guess);

/* The fewest right answers that guessing gives with a chance of at most alpha (0 to 1); n + 1 where
 * even all of them are not enough. */
SHOT_API size_t shot_forced_choice_needed(size_t n, double guess, double alpha);

/* The chance that so many are reached by who tells the cups apart in the share `able` of the tests
 * and guesses in the others, 0 <= able <= 1. */
SHOT_API double shot_forced_choice_power(size_t n, double guess, double alpha, double able);

/* The exact interval of the share of tests in which the cups are told apart, beyond guessing.
 *   level      of the interval, 0.95
 *   low, high  0 to 1
 * Returns as shot_proportion_exact. */
SHOT_API shot_status shot_forced_choice_able(size_t right, size_t n, double guess, double level,
                                             double *low, double *high);

#ifdef __cplusplus
}
#endif
#endif
