/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The null hypothesis for peaks in a spectrum whose noise is not white: a smooth continuum, fitted
 * to the spectrum itself, and how likely it makes a peak that high.
 *
 *     shot_red_noise null;
 *     shot_red_noise_fit(frequency, power, m, freedom, 1.5, &null);
 *     p = m * shot_red_noise_false_alarm(&null, frequency[k], power[k]);      anywhere in m bins
 *
 * ln of the continuum is a parabola in ln f: white noise, 1/f, random walk, a first-order
 * autoregression and white noise upon it lie within or near that.  It is fitted by least squares to
 * ln of the powers, less what ln of a chi-square variable is on average; peaks are left out of the
 * fit step by step.  The false-alarm probability takes into account that the continuum is known
 * only so well: Vaughan 2005, 'A simple test for periodic signals in red noise', A&A 431:391-403,
 * sections 3-5, carried over to averaged spectra and to a second power of ln f.
 */
#ifndef SHOTTRACE_SIGNAL_RED_NOISE_H
#define SHOTTRACE_SIGNAL_RED_NOISE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_red_noise {
    double coefficient[3];   /* ln S = c0 + c1 u + c2 u^2, u = ln(f / centre) */
    double covariance[3][3]; /* of the coefficients */
    double misfit;           /* variance of ln power beyond that of chi-square: what the parabola
                              * cannot follow */
    double centre;           /* Hz */
    double freedom;          /* degrees of freedom of a power */
    size_t used;             /* bins that the fit kept */
} shot_red_noise;

/* Fit.
 *   frequency  > 0, rising                                  [m]
 *   power      > 0 where it is used; others are left out    [m]
 *   m          at least 8 bins with power
 *   freedom    degrees of freedom of each power, >= 2
 *   alike      how many neighbouring bins count as one, >= 1 (the window's noise bandwidth)
 * SHOT_ERR_RANGE for arguments outside their interval, SHOT_ERR_SINGULAR with too few bins or
 * frequencies that do not spread; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_red_noise_fit(const double *frequency, const double *power, size_t m,
                                        double freedom, double alike, shot_red_noise *out);

/* The continuum: mean power of noise at a frequency > 0. */
SHOT_API double shot_red_noise_at(const shot_red_noise *null, double frequency);

/* Probability that noise has at least this power at that one frequency. */
SHOT_API double shot_red_noise_false_alarm(const shot_red_noise *null, double frequency,
                                           double power);

#ifdef __cplusplus
}
#endif
#endif
