/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Periodogram of uneven samples: how much of the scatter a sinusoid of each frequency explains.
 *
 *     shot_lomb_scargle_settings s = {.mean = SHOT_MEAN_FITTED};
 *     shot_lomb_scargle(t, y, n, 0.02, 0.001, 781, &s, power);     power[k] at 0.02 + 0.001 k
 *
 * With a fitted mean the sinusoid has an offset of its own at each frequency; otherwise the mean
 * of the samples is removed first, which misjudges periods that the samples cover unevenly.
 * Samples count alike; missing ones (NaN) are left out.
 *
 * Sources: Lomb 1976, Astrophys. Space Sci. 39:447-462; Scargle 1982, 'Studies in astronomical
 * time series analysis. II', ApJ 263:835-853, equation 10; fitted mean: Zechmeister & Kuerster
 * 2009, 'The generalised Lomb-Scargle periodogram', A&A 496:577-584, equations 5-9.
 */
#ifndef SHOTTRACE_SIGNAL_LOMB_SCARGLE_H
#define SHOTTRACE_SIGNAL_LOMB_SCARGLE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_mean { SHOT_MEAN_REMOVED, SHOT_MEAN_FITTED } shot_mean;

/* With z the part of the sum of squares about the mean that the sinusoid explains, 0 .. 1: */
typedef enum shot_power_scale {
    SHOT_POWER_STANDARD, /* z */
    SHOT_POWER_MODEL,    /* z / (1 - z): explained over left */
    SHOT_POWER_LOG,      /* -ln(1 - z) */
    SHOT_POWER_SCARGLE   /* z sum (y - mean)^2 / 2: equation 10 of Scargle 1982, in unit^2; over the
                          * noise variance it is exponential with mean 1 */
} shot_power_scale;

typedef struct shot_lomb_scargle_settings {
    shot_mean mean;
    shot_power_scale scale;
} shot_lomb_scargle_settings;

/* Power at evenly spaced frequencies.
 *   t       times in any order                                        [n]
 *   y       samples, NaN where missing                                [n]
 *   n       at least 3 that are not missing (4 with a fitted mean)
 *   first   first frequency, cycles per unit of t, > 0
 *   step    distance of frequencies, >= 0
 *   m       number of frequencies
 *   power   result                                                    [m]
 * O(n m).  SHOT_ERR_RANGE for an argument outside its interval; SHOT_ERR_SINGULAR for constant
 * samples; SHOT_ERR_MEMORY.  On error `power` is untouched. */
SHOT_API shot_status shot_lomb_scargle(const double *t, const double *y, size_t n, double first,
                                       double step, size_t m,
                                       const shot_lomb_scargle_settings *settings, double *power);

/* The best sinusoid mean + amplitude sin(2 pi (frequency t + phase)). */
typedef struct shot_sinusoid {
    double frequency;    /* cycles per unit of t */
    double frequency_se; /* standard error in white noise; Montgomery & O'Donoghue 1999, 'A
                          * derivation of the errors for least squares fitting to time series data',
                          * DSSN 13:28, from the curvature of the fit on the times at hand */
    double amplitude, phase, mean; /* phase in turns, 0 .. 1 */
    double power;                  /* standard: part of the scatter explained */
    double residual_sd;            /* of what is left, n - 5 degrees of freedom (n - 4 with the mean
                                    * removed); NaN with none */
} shot_sinusoid;

/* The highest peak between two frequencies, 0 < low < high: a grid of ten points per 1/(duration),
 * then golden section.  Errors as above; SHOT_ERR_SINGULAR also where the power has no maximum
 * inside the band. */
SHOT_API shot_status shot_lomb_scargle_peak(const double *t, const double *y, size_t n, double low,
                                            double high, shot_mean mean, shot_sinusoid *peak);

/* The sinusoid of a given frequency > 0 that fits best.  Errors as above, but for the band. */
SHOT_API shot_status shot_lomb_scargle_fit(const double *t, const double *y, size_t n,
                                           double frequency, shot_mean mean, shot_sinusoid *fit);

#ifdef __cplusplus
}
#endif
#endif
