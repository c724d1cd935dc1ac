/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra of overlapping segments of a run, even or not: what their mean averages, kept apart, so
 * that one can also see when a tone was there.
 *
 *     shot_segment_spectra s;
 *     shot_segment_spectra_find(t, y, n, 4.0, &s);           segments of 4 s
 *     mean density at s.frequency[k]: mean over j of s.power[j * s.bins + k]
 *     shot_segment_spectra_free(&s);
 *
 * Segments overlap by half, each is freed of its straight line and tapered by a Hann window.  On an
 * even grid their spectra are Fourier transforms (Welch 1967, IEEE Trans. Audio Electroacoust.
 * 15(2):70-73), on uneven times Lomb-Scargle periodograms of the tapered samples (Schulz &
 * Stattegger 1997, 'SPECTRUM: spectral analysis of unevenly spaced paleoclimatic time series',
 * Computers & Geosciences 23:929-945).  Densities are one-sided, in unit^2 a Hz.
 */
#ifndef SHOTTRACE_SIGNAL_SEGMENT_SPECTRA_H
#define SHOTTRACE_SIGNAL_SEGMENT_SPECTRA_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_segment_spectra {
    bool even;         /* the samples lay on an even grid */
    double rate;       /* samples a second */
    double length;     /* of a segment, s */
    size_t segments;   /* how many */
    double *from;      /* their starts, s [segments] */
    size_t bins;       /* frequencies: the multiples of 1/length above 0 and below rate/2, or in
                        * the band that was asked for */
    double *frequency; /* Hz [bins] */
    double *power;     /* density [segments][bins] */
    double freedom; /* degrees of freedom of the mean over all segments in noise: 36 K^2/(19 K - 1)
                     * for K of them (Percival & Walden 1993, equation 292b, Hann, half overlap) */
} shot_segment_spectra;

/* Equivalent noise bandwidth of the Hann window, in bins: neighbours are that much alike. */
#define SHOT_SEGMENT_BANDWIDTH 1.5

/* Find them.
 *   t, y     times, rising, and samples, none missing          [n]
 *   length   of a segment, s; at least 8 usual intervals
 * A segment with less than 70 % of the samples that it should have is left out.  A grid is even
 * where no time is off by more than 1 % of the interval, or by the step in which the times are
 * written (0.001 s, if all are whole milliseconds): then the samples are taken to lie on the grid.
 * SHOT_ERR_RANGE for a length outside its interval or a sample that is missing; SHOT_ERR_SINGULAR
 * if no segment is complete; SHOT_ERR_MEMORY.  *out is owned by the caller, empty on error. */
SHOT_API shot_status shot_segment_spectra_find(const double *t, const double *y, size_t n,
                                               double length, shot_segment_spectra *out);

/* The same in a band 0 < low < high of frequencies, which may lie above rate/2: uneven times tell a
 * frequency from its images, the better, the more they are uneven.  SHOT_ERR_SINGULAR also where
 * they are even, or no bin lies in the band. */
SHOT_API shot_status shot_segment_spectra_near(const double *t, const double *y, size_t n,
                                               double length, double low, double high,
                                               shot_segment_spectra *out);

/* Density at any frequency > 0 of the segment from..from + length of the same samples.
 * SHOT_ERR_SINGULAR with fewer than three samples there; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_segment_power(const double *t, const double *y, size_t n, double from,
                                        double length, double frequency, double *power);

/* Phase, in turns 0 .. 1, that a sine of that frequency has in the middle of the segment; errors as
 * above, and SHOT_ERR_SINGULAR for constant samples. */
SHOT_API shot_status shot_segment_phase(const double *t, const double *y, size_t n, double from,
                                        double length, double frequency, double *phase);

SHOT_API void shot_segment_spectra_free(shot_segment_spectra *spectra);

#ifdef __cplusplus
}
#endif
#endif
