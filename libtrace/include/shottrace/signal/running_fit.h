/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Smooth or differentiate a stream: the polynomial fitted to the window around each sample, on even
 * and uneven times, with missing samples.
 *
 *     const shot_running_fit_rule rule = {.reach = {5, 5, true}, .order = 2};     11 samples
 *     shot_running_fit *fit;
 *     shot_running_fit_new(&rule, &fit);
 *     for each sample:
 *         shot_running_fit_push(fit, t, y);
 *         while (shot_running_fit_next(fit, &at, &ready) == SHOT_OK && ready)
 *             use at.fitted, sd_of_noise * sqrt(at.gain)
 *     shot_running_fit_finish(fit);
 *     and once more the line with _next
 *     shot_running_fit_free(fit);
 *
 * Near an end the polynomial of the first or last full window is used, off its middle; no samples
 * are invented.  (A channel that falls silent for longer than the window reaches, while rows go on,
 * is not waited for: its last samples get what there is in their own windows, as beside a gap.)
 * Data shorter than a window have no full one, and get no values.  A missing sample stays missing
 * unless filling is asked for, and is filled only between samples.  A window with too few samples
 * for the order gives a missing value.
 *
 * Three ways lead to the same result, within 1e-12 of the largest value in the window (a derivative
 * within 1e-11 of that per window length); which one
 * is taken depends on the samples alone:
 *   even       samples on an even grid, all of them or but for one hole of one or two: the
 *              Savitzky-Golay weights of these places, which are kept
 *   sliding    else, for orders up to 3 without taper: sums of powers that follow the window, in a
 *              time that does not grow with its length
 *   afresh     else: shot_local_fit for each sample
 * A window in which all values are the same gives that value itself, and 0 for its derivatives,
 * without the rounding of the sums.
 *
 * Sources: see local_fit.h and savgol.h.
 */
#ifndef SHOTTRACE_SIGNAL_RUNNING_FIT_H
#define SHOTTRACE_SIGNAL_RUNNING_FIT_H

#include <shottrace/signal/sliding_window.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_running_fit_rule {
    shot_reach reach;
    size_t order;      /* of the polynomial */
    size_t derivative; /* 0: its value, 1: its slope, ...  at most `order` */
    bool tapered;      /* tricube weights that fall to 0 at the edge of a window in seconds, one
                          sample beyond that of a window in samples */
    bool fill;         /* missing samples get the fitted value where samples lie on both sides */
} shot_running_fit_rule;

typedef struct shot_running_fit_at {
    double t, value; /* the sample */
    double fitted;   /* the polynomial, or its derivative, at t; NaN where there is none */
    double gain;     /* variance of `fitted` for noise of variance 1 in each sample, independent
                        unless shot_running_fit_correlate says otherwise */
} shot_running_fit_at;

typedef struct shot_running_fit shot_running_fit;

/* Free with shot_running_fit_free.  SHOT_ERR_RANGE for a reach as in shot_sliding_window_new, a
 * derivative above the order, or an order that a window of that many samples can never determine;
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_running_fit_new(const shot_running_fit_rule *rule,
                                          shot_running_fit **out);

/* Before the first sample: in how many seconds the correlation of the noise falls to 1/e, 0 for
 * independent noise.  Gains are then those of a first-order autoregression, at a cost that grows
 * with the window. */
SHOT_API void shot_running_fit_correlate(shot_running_fit *fit, double seconds);

/* As for shot_sliding_window_push. */
SHOT_API shot_status shot_running_fit_push(shot_running_fit *fit, double t, double y);

/* As for shot_sliding_window_push_block. */
SHOT_API shot_status shot_running_fit_push_block(shot_running_fit *fit, const double *t,
                                                 const double *y, size_t n);

/* There are no more samples. */
SHOT_API void shot_running_fit_finish(shot_running_fit *fit);

/* The next result, in the order of the samples; *ready false if it is not known yet.
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_running_fit_next(shot_running_fit *fit, shot_running_fit_at *at,
                                           bool *ready);

/* The results that are known, at most `room` of them, in less time than one by one.
 *   fitted, gain   as in shot_running_fit_at; gain NULL where nobody asks   [room]
 *   count          receives how many
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_running_fit_take(shot_running_fit *fit, size_t room, double *fitted,
                                           double *gain, size_t *count);

/* Forget all samples and start over. */
SHOT_API void shot_running_fit_reset(shot_running_fit *fit);

SHOT_API void shot_running_fit_free(shot_running_fit *fit);

#ifdef __cplusplus
}
#endif
#endif
