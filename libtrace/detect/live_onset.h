/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel leaves its rest: the test that runs while samples arrive.
 *
 * Page's cumulative sum (signal/cusum.h) of how far each sample lies above the mean of those before
 * it, in units of what that mean and its SD let expect, so that no idle time need be kept for
 * learning them (self-starting: Hawkins 1987, 'Self-starting cusum charts for location and scale',
 * The Statistician 36:299-315, eq. for the location chart, from memory; here with a prior for the
 * SD).  The false-alarm rate is that of
 * white normal noise; correlation is allowed for by the long-run variance of a first-order
 * autoregression of means over a twentieth of a second, or of samples where they come more slowly
 * (batch means: Law & Carson 1979, 'A sequential procedure for determining the length of a
 * steady-state simulation', Oper. Res. 27:1011-1025), and for noise that wanders by what the means
 * of whole seconds scatter.  No one of these raises the sum by more than
 * 0.6 of the threshold, so that a spike is no onset: two are.
 *
 *     live_onset onset = {.usual_sd = 0.1, .least = 0.3};
 *     for (each sample)
 *         if (live_onset_push(&onset, t, y))
 *             printf("left its rest at %g\n", onset.from);
 *
 * Who cannot wait for a second one looks at `alone`, and at the next sample whether it was a spike:
 * `rising` is false then.
 */
#ifndef SHOT_DETECT_LIVE_ONSET_H
#define SHOT_DETECT_LIVE_ONSET_H

#include <stdbool.h>

#include <shottrace/signal/cusum.h>

/* Of some samples: sum of squares about their mean, and of products of neighbours' residuals. */
typedef struct live_rest {
    double n, mean, squares, products;
} live_rest;

/* Set the first two, all else zero. */
typedef struct live_onset {
    double usual_sd;         /* what is taken for the noise until the samples tell, > 0 */
    double least;            /* a rise that is worth the name, > 0 */
    double from;             /* when it began: between the last sample at rest and the next */
    live_rest rest, pending; /* samples at rest; those since the sum last was 0, which may be */
    live_rest slow; /* means of a second at rest each: their squares about the level at rest */
    double slow_start, slow_n, slow_sum; /* the second at hand and its samples */
    double last_residual, quiet_t, memory;
    double batch_n, batch_sum, batch_start,
        last_t; /* the samples of the mean that is being taken */
    shot_cusum cusum;
    double taken_t, apart;      /* the last mean, s; how far it lay from the one before */
    bool started, rising, told; /* rising: the last mean is no rest */
    bool alone;                 /* it would have told by itself, could it be no spike */
} live_onset;

/* Take a sample; NaN is passed over.  True once, on the sample that decides. */
bool live_onset_push(live_onset *onset, double t, double y);

/* How far the sum has come on its way to the threshold, 0 to 1. */
double live_onset_share(const live_onset *onset);

/* The level at rest, as far as it is known. */
double live_onset_rest(const live_onset *onset);

#endif
