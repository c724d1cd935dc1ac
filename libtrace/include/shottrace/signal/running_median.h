/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median, and the median absolute deviation, of the window around each sample of a stream:
 * level and scatter that spikes do not move, and edges that stay sharp.
 *
 *     shot_running_median *running;
 *     shot_running_median_new((shot_reach){2, 2, true}, SHOT_MISSING_SKIPPED, true, &running);
 *     for each sample:
 *         shot_running_median_push(running, t, y);
 *         while (shot_running_median_next(running, &at, &ready) == SHOT_OK && ready) use at.median
 *     shot_running_median_finish(running);
 *     and once more the line with _next
 *     shot_running_median_free(running);
 *
 * Near an end the window is what is left of it.  Missing samples are left out; SHOT_MISSING_SERVED
 * gives them a median like any other.  One sample costs O(log w) steps for the median and O(log^2
 * w) for the deviation, w being the samples in the window; up to some thousand it is a sorted array
 * that the window's samples are moved in.  Of white normal noise about pi / (2 (w + pi/2 - 1)) of
 * the variance remains.
 *
 * Source: Tukey 1977, 'Exploratory data analysis', chapter 7; Gallagher & Wise 1981, 'A theoretical
 * analysis of the properties of median filters', IEEE Trans. ASSP 29:1136-1141.
 */
#ifndef SHOTTRACE_SIGNAL_RUNNING_MEDIAN_H
#define SHOTTRACE_SIGNAL_RUNNING_MEDIAN_H

#include <shottrace/signal/sliding_window.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_running_median shot_running_median;

typedef struct shot_median_at {
    double t, value; /* the sample */
    double median;   /* of its window; NaN if no sample in it has a value */
    double mad;      /* median absolute deviation about that, not scaled; NaN if not asked for */
    size_t n;        /* samples in the window that have a value */
} shot_median_at;

/* Free with shot_running_median_free.  `deviations`: work out the MAD too.
 * SHOT_ERR_RANGE as for shot_sliding_window_new; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_running_median_new(shot_reach reach, shot_missing missing,
                                             bool deviations, shot_running_median **out);

/* As for shot_sliding_window_push. */
SHOT_API shot_status shot_running_median_push(shot_running_median *running, double t, double y);

/* There are no more samples. */
SHOT_API void shot_running_median_finish(shot_running_median *running);

/* The next result, in the order of the samples; *ready false if it is not known yet.
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_running_median_next(shot_running_median *running, shot_median_at *at,
                                              bool *ready);

/* Forget all samples and start over. */
SHOT_API void shot_running_median_reset(shot_running_median *running);

SHOT_API void shot_running_median_free(shot_running_median *running);

#ifdef __cplusplus
}
#endif
#endif
