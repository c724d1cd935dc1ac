/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Power spectrum of an evenly sampled run: the mean of the periodograms of overlapping, windowed
 * segments.
 *
 *     shot_welch_settings s = {.segment = 256, .overlap = 128, .window = {SHOT_WINDOW_HANN, 0},
 *                              .detrend = SHOT_DETREND_MEAN};
 *     double density[129];
 *     size_t segments;
 *     shot_welch(x, n, 20.0, &s, density, &segments);      density[k] at k * 20 / 256 Hz
 *
 * One-sided: every bin but 0 and half the sampling rate is doubled, so that the densities times the
 * width of a bin add up to the mean square.  Windows are periodic.
 * Source: Welch 1967, 'The use of fast Fourier transform for the estimation of power spectra', IEEE
 * Trans. Audio Electroacoust. 15(2):70-73.
 */
#ifndef SHOTTRACE_SIGNAL_WELCH_H
#define SHOTTRACE_SIGNAL_WELCH_H

#include <stddef.h>

#include <shottrace/signal/window_function.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_detrend {
    SHOT_DETREND_NONE,
    SHOT_DETREND_MEAN, /* each segment's mean is removed */
    SHOT_DETREND_LINE  /* each segment's least-squares line is removed */
} shot_detrend;

typedef enum shot_spectrum_scale {
    SHOT_SPECTRUM_DENSITY, /* unit^2/Hz: noise reads the same whatever the segment */
    SHOT_SPECTRUM_POWER    /* unit^2: a tone of amplitude A reads A^2/2 in its bin */
} shot_spectrum_scale;

typedef struct shot_welch_settings {
    size_t segment; /* samples, >= 2 */
    size_t overlap; /* samples that neighbours share, < segment */
    shot_window window;
    shot_detrend detrend;
    shot_spectrum_scale scale;
} shot_welch_settings;

/* Estimate the spectrum.
 *   x         samples, NaN where missing                           [n]
 *   n         at least one segment
 *   rate      samples a second, > 0
 *   spectrum  result, bin k at k * rate / segment                  [segment / 2 + 1]
 *   segments  how many segments were averaged (may be NULL)
 * A segment with a missing sample is left out.  Samples after the last whole segment are not used.
 * SHOT_ERR_RANGE for an argument outside its interval; SHOT_ERR_SINGULAR if every segment misses a
 * sample; SHOT_ERR_MEMORY.  On error `spectrum` is untouched. */
SHOT_API shot_status shot_welch(const double *x, size_t n, double rate,
                                const shot_welch_settings *settings, double *spectrum,
                                size_t *segments);

#ifdef __cplusplus
}
#endif
#endif
