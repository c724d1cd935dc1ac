/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strongest periodic ripple of one channel: its spectrum, the noise under it, when it shows. */
#ifndef SHOT_DETECT_RIPPLE_H
#define SHOT_DETECT_RIPPLE_H

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

/* What was found. */
typedef struct ripple {
    double from, to, edge;       /* s; the edges are known to +- edge */
    double frequency, low, high; /* Hz; the interval at 95 %, NaN if there is none */
    double amplitude;            /* in the channel's unit */
    double false_alarm;          /* anywhere in the spectrum */
} ripple;

/* Analyse the samples of a channel.
 *   t, y     of the rows, y NaN where missing   [n]
 *   length   of a segment in s; 0: at least 3 s and 64 samples, but not above 2/5 of the record
 * SHOT_ERR_SINGULAR if there are too few samples; SHOT_ERR_MEMORY. *out is empty on error. */
shot_status ripple_spectrum_find(const double *t, const double *y, size_t n, double length,
                                 ripple_spectrum *out);

/* The strongest ripple that noise would show with at most that probability; *found is false if
 * there is none.  A ripple must swing by more than a `step` in which the values are written: a slow
 * ramp that is rounded is a saw of that height, with a tone of amplitude step/pi at slope/step
 * (Widrow & Kollar 2008, 'Quantization Noise', chapter 20).  SHOT_ERR_MEMORY. */
shot_status ripple_find(const ripple_spectrum *spectrum, double alarm_rate, double step,
                        ripple *out, bool *found);

void ripple_spectrum_free(ripple_spectrum *spectrum);

/* The frequency near `wanted` that a sampling rate folds to `seen`: k rate +- seen. */
double ripple_unfold(double seen, double rate, double wanted);

#endif
