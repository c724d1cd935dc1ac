/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier: a sample is a spike if it lies far from the median of its window, in units
 * of the window's own robust scatter.
 *
 *     shot_hampel *hampel;
 *     shot_hampel_new(&(shot_hampel_rule){.reach = {0.5, 0.5}, .threshold = 3, .floor = 0.01},
 *                     &hampel);
 *     for each sample:
 *         shot_hampel_push(hampel, t, y);
 *         while (shot_hampel_next(hampel, &at, &ready) == SHOT_OK && ready)
 *             if (at.spike) replace at.value by at.median
 *     shot_hampel_finish(hampel);
 *     and once more the line with _next
 *     shot_hampel_free(hampel);
 *
 * Works on uneven times and beside missing samples.  Spikes are judged against the samples as they
 * came, so a spike found does not change the verdict on the next.  A run of spikes longer than half
 * of the samples in the window is taken for the signal.
 *
 * Sources: Davies & Gather 1993, 'The identification of multiple outliers', J. Am. Stat. Assoc.
 * 88:782-792; Pearson 2002, 'Outliers in process modeling and identification', IEEE Trans. Control
 * Syst. Technol. 10:55-63.
 */
#ifndef SHOTTRACE_SIGNAL_HAMPEL_H
#define SHOTTRACE_SIGNAL_HAMPEL_H

#include <shottrace/signal/sliding_window.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_hampel_rule {
    shot_reach reach; /* of the window, cut at the ends */
    double threshold; /* in standard deviations, >= 0; 3 is usual */
    double floor;     /* the standard deviation is taken to be at least this, >= 0: on a plateau
                         of a coarsely read channel the scatter of the window is 0, and every
                         flicker of the last digit would be a spike */
} shot_hampel_rule;

typedef struct shot_hampel_at {
    double t, value; /* the sample */
    double median;   /* of its window */
    double scale;    /* standard deviation: 1.4826 MAD, at least the floor */
    size_t n;        /* samples of the window that have a value */
    size_t known;    /* as in shot_window_view */
    bool spike;      /* |value - median| > threshold * scale; false where the value is missing */
} shot_hampel_at;

/* Samples that are no spikes. */
typedef struct shot_hampel_passed {
    size_t count;
    double t, value; /* the last of them; NaN if there is none */
} shot_hampel_passed;

typedef struct shot_hampel shot_hampel;

/* Free with shot_hampel_free.  SHOT_ERR_RANGE for a rule outside its limits; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_hampel_new(const shot_hampel_rule *rule, shot_hampel **out);

/* As for shot_sliding_window_push. */
SHOT_API shot_status shot_hampel_push(shot_hampel *hampel, double t, double y);

/* Many at once, as for shot_sliding_window_push_block. */
SHOT_API shot_status shot_hampel_push_block(shot_hampel *hampel, const double *t, const double *y,
                                            size_t n);

/* There are no more samples. */
SHOT_API void shot_hampel_finish(shot_hampel *hampel);

/* The next verdict, in the order of the samples; *ready false if it is not known yet.
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_hampel_next(shot_hampel *hampel, shot_hampel_at *at, bool *ready);

/* Pass over samples whose verdict is known to be "no spike", up to the next spike and at most `most`,
 * many at once and in less time than with shot_hampel_next.  Where none is passed, ask that.
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_hampel_pass(shot_hampel *hampel, size_t most, shot_hampel_passed *passed);

/* Forget all samples and start over. */
SHOT_API void shot_hampel_reset(shot_hampel *hampel);

SHOT_API void shot_hampel_free(shot_hampel *hampel);

#ifdef __cplusplus
}
#endif
#endif
