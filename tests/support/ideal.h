/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How narrow can the interval of an event's time be?  The larger of two limits:
 *
 * - of the noise: the bound of Cramer and Rao (Kay, "Fundamentals of Statistical Signal Processing:
 *   Estimation Theory", 1993, sec. 3.5 and 3.7) for an observer who knows the noise-free curve of
 *   every channel and the size of its noise, but neither when the event comes nor the level and the
 *   slope of the curve on either side of it.  No interval without a bias is narrower on average.
 * - of the sampling: without noise, one who does not know the curve knows only between which two
 *   samples the event lies, and 95 % of that time holds it in 95 of 100 cases.
 *
 * Ours know no curve beforehand, so both flatter the ideal.
 */
#ifndef SHOT_TEST_IDEAL_H
#define SHOT_TEST_IDEAL_H

#include <stddef.h>

enum { IDEAL_MOST_CHANNELS = 4 };

typedef enum ideal_kind { IDEAL_PRESSURE, IDEAL_FLOW, IDEAL_WEIGHT } ideal_kind;

/* Borrowed. */
typedef struct ideal_curves {
    double step;  /* s between the points of the curves, the first at time 0 */
    size_t count; /* of them */
    size_t channels;
    const double *curve[IDEAL_MOST_CHANNELS];  /* [count], without noise */
    const double *logged[IDEAL_MOST_CHANNELS]; /* the log's column: where it is missing, nothing
                                                  was learnt */
    double noise[IDEAL_MOST_CHANNELS];         /* SD of a sample, its steps included */
    ideal_kind shows[IDEAL_MOST_CHANNELS];     /* what each channel is */
    const double *puck, *conductance;          /* [count] pressure at the puck, bar, and flow over
                                                  it; for ideal_opening_width alone */
    double scale_lag;                          /* s by which the weight follows the flow */
} ideal_curves;

/* The width of the 95 % interval of an event at `at`, with Gaussian noise, white; infinite where
 * the curves do not show it.  Only samples within 1 s, or ten samples if that is longer, are used.
 */
double ideal_width(const ideal_curves *curves, const double *times, size_t rows, double at);

/* 95 % of the time between the samples before and behind an event at `at`, s. */
double ideal_sampling_limit(const double *times, size_t rows, double at);

/* What the combinations of `count` columns of n leave of |vector|^2, by Gram and Schmidt; both are
 * changed.  A column that the others before it span adds nothing. */
double ideal_left_over(double *vector, double *columns, size_t count, size_t n);

#endif
