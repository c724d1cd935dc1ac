/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which knees could be found at all?
 *
 * A matched filter that knows the instant and the sign of a knee, and the noise, but neither its
 * size nor the trend on which it stands, has the signal-to-noise ratio
 *
 *     d = |what no trend can imitate of the change| / SD
 *
 * (Kay 1998, 'Fundamentals of Statistical Signal Processing: Detection Theory', section 4.3), and
 * finds it with probability tail(u - d), u being the threshold that noise alone exceeds in 1 % of
 * logs.  The trend is a polynomial within 2 s and any change of slope at the instants of the other
 * knees, which are known too.  Between them it is straight, or it bends: who takes all curves for
 * straight lines finds more, and takes bends for knees.  A knee counts as it is alone, or together
 * with the nearest of the other sign within 1 s, if that shows more: who looks for bumps and steps
 * need not tell their two ends apart.
 *
 * No detector knows as much, so the limit flatters: knees break in an instant and are found where
 * they are, and nothing but noise is taken for one.  1/f noise counts as white.
 */
#ifndef SHOT_TEST_KNEE_LIMIT_H
#define SHOT_TEST_KNEE_LIMIT_H

#include <shottrace/puck/truth.h>

#include "support/ideal.h"

enum { KNEE_LIMIT_MOST = 256 };

typedef struct knee_limit_knees {
    double at[KNEE_LIMIT_MOST], change[KNEE_LIMIT_MOST]; /* s, units of the channel a second */
    size_t count;
} knee_limit_knees;

typedef enum knee_limit_case {
    KNEE_LIMIT_STRAIGHT,
    KNEE_LIMIT_STRAIGHT_PAIRS,
    KNEE_LIMIT_BENT,
    KNEE_LIMIT_BENT_PAIRS,
    KNEE_LIMIT_COUNT
} knee_limit_case;

const char *knee_limit_name(knee_limit_case which);

/* The knees among what is true, in their order. */
void knee_limit_knees_of(const shot_truth_list *truth, knee_limit_knees *out);

/* d of number `one` of the knees in the first channel. */
double knee_limit_ratio(const ideal_curves *curves, const double *times, size_t rows,
                        const knee_limit_knees *knees, size_t one, knee_limit_case which);

/* The probability that a knee of that ratio is found in a log of so many seconds.  As what is found
 * within half a second is right, one place in a second is enough to look at. */
double knee_limit_chance(double ratio, double seconds);

/* Sums over logs. */
typedef struct knee_limit {
    double found[KNEE_LIMIT_COUNT]; /* knees, expected */
    size_t knees, logs;
} knee_limit;

void knee_limit_add(const ideal_curves *curves, const double *times, size_t rows,
                    const knee_limit_knees *knees, knee_limit *sums);

/* With false ones at the alarm rate. */
double knee_limit_f1(const knee_limit *sums, knee_limit_case which);

#endif
