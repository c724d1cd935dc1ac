/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Savitzky-Golay filter on evenly spaced samples: its weights for any window, order and
 * derivative, the noise it lets through, and the cut-off frequency that a window stands for.
 *
 *     const shot_savgol shape = {.left = 5, .right = 5, .order = 2};
 *     double weights[11];
 *     shot_savgol_weights(&shape, weights);
 *     smooth = sum over i of weights[i] * y[centre - 5 + i];
 *
 * Weights are computed for the shape at hand, never taken from a table: misprints in the published
 * tables are well known (Steinier, Termonia & Deltour 1972, Anal. Chem. 44:1906-1909).
 *
 * Frequencies are in cycles per sample: multiply by the sampling rate for hertz; 0.5 is Nyquist.
 *
 * Sources: Savitzky & Golay 1964, 'Smoothing and differentiation of data by simplified least
 * squares procedures', Anal. Chem. 36:1627-1639; Gorry 1990, 'General least-squares smoothing and
 * differentiation by the convolution (Savitzky-Golay) method', Anal. Chem. 62:570-573 (ends);
 * Schafer 2011, 'What is a Savitzky-Golay filter?', IEEE Signal Process. Mag. 28(4):111-117
 * (frequency response).
 */
#ifndef SHOTTRACE_SIGNAL_SAVGOL_H
#define SHOTTRACE_SIGNAL_SAVGOL_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_savgol {
    size_t left, right; /* samples before and after the centre: left + 1 + right in the window */
    size_t order;       /* of the polynomial, <= left + right */
    size_t derivative;  /* 0 smooths, 1 gives the slope, ...; above `order` all weights are 0 */
    double at;          /* where the polynomial is evaluated, in samples from the centre; 0 is the
                           centre, -left the first sample */
} shot_savgol;

/* The weights of the samples -left .. right, as a dot product (not reversed), for spacing 1: divide
 * by spacing^derivative.
 *   weights   receives left + 1 + right numbers
 * Returns SHOT_OK; SHOT_ERR_RANGE if order > left + right; SHOT_ERR_SINGULAR where the order is so
 * high that rounding leaves nothing to fit; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_savgol_weights(const shot_savgol *shape, double *weights);

/* The gain in variance for white noise: the sum of the squares of n weights.  The output of the
 * filter has the input's noise SD times sqrt(gain) (over spacing^derivative). */
SHOT_API double shot_savgol_gain(const double *weights, size_t n);

/* The frequency, in cycles per sample, at which the smoothing filter of `half` samples on either
 * side passes half of the power (-3 dB): the first crossing of the exact response, to 1e-12.
 *   half, order   order < 2 half; the orders 2k and 2k + 1 are the same filter
 * Returns SHOT_OK; SHOT_ERR_RANGE if order >= 2 half (nothing is smoothed: all passes);
 * SHOT_ERR_SINGULAR, SHOT_ERR_MEMORY as above. */
SHOT_API shot_status shot_savgol_cutoff(size_t half, size_t order, double *frequency);

/* The inverse: the window, in samples on either side, whose cut-off is nearest to `frequency` (in
 * ratio).
 *   frequency   cycles per sample, 0 < frequency < 0.5
 * Beyond 2000 samples on either side by the limit of long windows, to a part in 10^7; never more than
 * 2^50.  Returns SHOT_OK; SHOT_ERR_RANGE if the frequency is outside (0, 0.5), or lies above the cut-off
 * of the shortest window of this order by more than a quarter; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_savgol_window(double frequency, size_t order, size_t *half);

#ifdef __cplusplus
}
#endif
#endif
