/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectrum of one channel as the search for a ripple needs it: averaged over the segments
 * without a transient, with the noise under it and what that would show. */
#ifndef SHOT_DETECT_RIPPLE_SPECTRUM_H
#define SHOT_DETECT_RIPPLE_SPECTRUM_H

#include <stdbool.h>

#include <shottrace/signal/red_noise.h>
#include <shottrace/signal/segment_spectra.h>

/* A spectrum with what it was made from. */
typedef struct ripple_spectrum {
    double *t, *y; /* samples of the channel, none missing, owned [n] */
    size_t n;
    double mean_rate; /* samples a second while none is lost: what frequencies fold about */
    shot_segment_spectra segments;
    bool *quiet; /* segments without a transient, owned [segments.segments] */
    size_t quiet_count;
    double *power;      /* mean density over the quiet segments, owned [segments.bins] */
    double freedom;     /* of that mean */
    size_t first, last; /* bins that are judged; below, a transient's leftovers rule, and next to
                         * half the rate a bin has but one degree of freedom */
    shot_red_noise null;
    double *false_alarm; /* at each bin alone, owned [segments.bins]; NaN for others */
} ripple_spectrum;

/* Analyse the samples of a channel.
 *   t, y     of the rows, y NaN where missing   [n]
 *   length   of a segment in s; 0: at least 3 s and 64 samples, but not above 2/5 of the record
 * SHOT_ERR_SINGULAR if there are too few samples; SHOT_ERR_MEMORY. *out is empty on error. */
shot_status ripple_spectrum_find(const double *t, const double *y, size_t n, double length,
                                 ripple_spectrum *out);

/* The band around a frequency that is known beforehand, of the samples of a spectrum whose times
 * are uneven; bins within `tolerance` (a part of the frequency) are judged, and the noise comes
 * from those up to a fifth away.  SHOT_ERR_SINGULAR if the times are even or the band has too few
 * bins; SHOT_ERR_MEMORY.  *out is empty on error. */
shot_status ripple_spectrum_near(const ripple_spectrum *spectrum, double frequency,
                                 double tolerance, ripple_spectrum *out);

void ripple_spectrum_free(ripple_spectrum *spectrum);

#endif
