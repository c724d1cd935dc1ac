/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How noisy is a channel? Estimated from its own samples, beside whatever signal they carry.
 *
 *     shot_noise noise;
 *     shot_noise_estimate(t, y, n, shot_resolution(y, n), work, &noise);
 *     se_of_mean = noise.sd * sqrt(noise.inflation / m);
 *
 * Pseudo-residuals: each sample less the straight line between two of its neighbours. A smooth
 * signal cancels in them, and their median does not feel the few places where it bends. Those with
 * neighbours further away tell whether the noise is correlated: correlated noise cancels too while
 * the neighbours are near. Where a channel stands at one figure for longer than the noise of the
 * rest would let it, its sensor is at the end of its scale, or nothing moves in it: that stretch is
 * left out.
 */
#ifndef SHOTTRACE_SIGNAL_NOISE_H
#define SHOTTRACE_SIGNAL_NOISE_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_noise {
    double sd;          /* standard deviation of a sample about the true signal */
    double spacing;     /* median time between samples, s */
    double lag1;        /* correlation of noise in samples one spacing apart, 0 for white noise */
    double correlation; /* time in which it falls to 1/e, s; 0 for white noise */
    double inflation;   /* (1 + lag1) / (1 - lag1): variance of a long mean over that of white
                           noise, the long-run variance over sd^2 */
    /* The correlation that fits best, and the standard deviation that goes with it, also where
     * white noise fits hardly worse and is what the numbers above tell of.  For standard errors:
     * those that follow a test for correlation are too small (Leeb & Poetscher 2005, 'Model
     * selection and inference: facts and fiction', Econometric Theory 21:21-59). */
    double fitted_sd, fitted_correlation;
    bool fitted_longest; /* the correlation is the longest that is told from the signal's own: it
                            may be longer */
} shot_noise;

/* The number of doubles that shot_noise_estimate needs as its workspace for n samples. */
SHOT_API size_t shot_noise_workspace(size_t n);

/* Estimate.
 *   t, y   times, rising, and values, missing ones NaN [n]
 *   step   the step in which y is written, 0 if it is continuous: noise is at least
 *          step / sqrt(12), what rounding adds (Widrow & Kollar 2008, 'Quantization Noise', ch. 4),
 *          and residuals, which then lie on a lattice, are spread over it before the median is
 *          taken (Machado & Santos Silva 2005, 'Quantiles for counts', J. Am. Stat. Assoc.
 *          100:1226-1237)
 *   work   shot_noise_workspace(n) doubles
 * Returns SHOT_OK; SHOT_ERR_SINGULAR with fewer than 5 values, or with one of 1e150 and more, whose
 * square is no number; *out is then all 0.
 * Sources: Gasser, Sroka & Jennen-Steinmetz 1986, 'Residual variance and residual pattern in
 * nonlinear regression', Biometrika 73:625-633, eq. 2 (pseudo-residuals); Hampel 1974, J. Am. Stat.
 * Assoc. 69:383-393 (median absolute deviation); the correlation by matching the pseudo-residuals
 * of wider spans to a first-order autoregression, in the manner of the difference-based estimators
 * of Hall & Van Keilegom 2003, J. R. Stat. Soc. B 65:443-456. */
SHOT_API shot_status shot_noise_estimate(const double *t, const double *y, size_t n, double step,
                                         double *work, shot_noise *out);

#ifdef __cplusplus
}
#endif
#endif
