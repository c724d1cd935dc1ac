/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Butterworth low-pass on evenly spaced samples, once or without delay (forward and backward).
 *
 *     shot_biquad sections[SHOT_BUTTERWORTH_SECTIONS(4)];
 *     shot_butterworth_design(4, shot_butterworth_for_two_passes(4, 2.0 / rate), sections);
 *     shot_butterworth_zero_phase(sections, SHOT_BUTTERWORTH_SECTIONS(4), x, n, work);
 *
 * Frequencies are in cycles per sample: hertz over the sampling rate; 0.5 is Nyquist.
 *
 * Sources: Butterworth 1930, 'On the theory of filter amplifiers', Wireless Engineer 7:536-541;
 * bilinear transform with the cut-off prewarped: Oppenheim & Schafer 2010, 'Discrete-time signal
 * processing', 3rd ed., section 7.2.2.
 */
#ifndef SHOTTRACE_SIGNAL_BUTTERWORTH_H
#define SHOTTRACE_SIGNAL_BUTTERWORTH_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A second-order section: y = b0 x + b1 x' + b2 x'' - a1 y' - a2 y''. */
typedef struct shot_biquad {
    double b[3], a[2]; /* a[0] is a1 */
} shot_biquad;

/* How many sections a filter has; the last one of an odd order is of first order. */
#define SHOT_BUTTERWORTH_SECTIONS(order) (((order) + 1) / 2)

/* The sections of a low-pass with half power (-3.01 dB) at `cutoff`, gain 1 at 0.
 *   order      >= 1
 *   cutoff     cycles per sample, 1e-6 <= cutoff < 0.5; a lower one is not told from 0
 *   sections   receives SHOT_BUTTERWORTH_SECTIONS(order)
 * Returns SHOT_OK; SHOT_ERR_RANGE. */
SHOT_API shot_status shot_butterworth_design(size_t order, double cutoff, shot_biquad *sections);

/* The cut-off to design with so that two passes together have half power at `cutoff`: each pass
 * then has |H|^4 = 1/2 there. */
SHOT_API double shot_butterworth_for_two_passes(size_t order, double cutoff);

/* Filter in place, once.
 *   state   two numbers a section, 0 at the start of a signal that was 0 before; left as they are
 *           at its end, for the next piece */
SHOT_API void shot_butterworth_filter(const shot_biquad *sections, size_t count, double *x,
                                      size_t n, double *state);

/* The number of doubles that shot_butterworth_zero_phase needs as its workspace. */
SHOT_API size_t shot_butterworth_workspace(size_t n, size_t count);

/* Filter in place, forward and backward: no delay, the gain of two passes.
 * Ends: the signal goes on beyond each of them turned about its last sample (x' = 2 x_end - x), for
 * as long as the filter remembers or there are samples, and both passes start as if it had been a
 * straight line before that: so a straight line stays straight, to its ends.
 *   x      n samples, none missing
 *   work   shot_butterworth_workspace(n, count) doubles */
SHOT_API void shot_butterworth_zero_phase(const shot_biquad *sections, size_t count, double *x,
                                          size_t n, double *work);

/* The number of doubles that shot_butterworth_gain needs as its workspace. */
SHOT_API size_t shot_butterworth_gain_workspace(size_t n, size_t count);

/* What two passes make of noise: the variance of each sample behind them where that of each before
 * is 1, by the responses to the shocks that it is made of, the ends allowed for.  Rows so far from
 * both ends that the filter has forgotten them share one gain.
 *   lag1   correlation of neighbours, 0 <= lag1 < 1: 0 for independent noise, whose shocks are its
 *          samples; else it is a first-order autoregression, in which each shock fades by it
 *   gain   n numbers; NaN where the filter remembers more than 2000 samples and n is more than
 * 4096, for the work grows with the square of the less work   shot_butterworth_gain_workspace(n,
 * count) doubles */
SHOT_API void shot_butterworth_gain(const shot_biquad *sections, size_t count, size_t n,
                                    double lag1, double *gain, double *work);

#ifdef __cplusplus
}
#endif
#endif
