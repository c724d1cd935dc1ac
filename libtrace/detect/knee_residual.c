/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/knee_residual.h"

#include <math.h>

/* Common practice, no source. */
static const double MOST = 0.97; /* of a correlation that so short a series can tell */
enum { FEW = 8 };                /* samples on a piece, in the mean, that leave none of the noise */

/* Of m samples less their mean the correlation of neighbours is too small by (1 + 3 r) / m, less a
 * straight line by (2 + 4 r) / m (Kendall 1954, 'Note on bias in the estimation of
 * autocorrelation', Biometrika 41:403-404, for the principle; from memory). */
static double unbiased(double r, double pieces, double parameters, double n) {
    const double share = pieces / n;
    return fmin(MOST, fmax(0, (r + parameters * share) / (1 - (parameters + 2) * share)));
}

/* The variance is that of n samples less what was fitted: a parameter takes up as much of
 * correlated noise as of `inflation` samples, though never more than half of all. */
shot_noise knee_residual_noise(const shot_noise *told, const double *residual, size_t n,
                               size_t pieces, size_t parameters) {
    const double samples = (double)n, fitted = (double)(pieces * parameters);
    double squares = 0, products = 0;
    shot_noise left = *told;
    for (size_t i = 0; i < n; i++) {
        squares += residual[i] * residual[i];
        products += i > 0 ? residual[i] * residual[i - 1] : 0;
    }
    if (FEW * pieces >= n || !(squares > 0))
        return left;
    left.lag1 = unbiased(products / squares, (double)pieces, (double)parameters, samples);
    left.inflation = (1 + left.lag1) / (1 - left.lag1);
    left.correlation = left.lag1 > 0 ? -left.spacing / log(left.lag1) : 0;
    left.sd = sqrt(squares / fmax(samples / 2, samples - fitted * left.inflation));
    return left;
}

double knee_long_run_variance(const shot_noise *noise) {
    return noise->sd * noise->sd * noise->inflation;
}

/* Of a first-order autoregression the sample variance has the relative variance
 * 2 (1 + r^2) / ((1 - r^2) n), and (1 + r) / (1 - r), whose r has the variance (1 - r^2) / n,
 * 4 / ((1 - r^2) n) (Bartlett 1946, 'On the theoretical specification and sampling properties of
 * autocorrelated time-series', J. R. Stat. Soc. Suppl. 8:27-41, from memory). */
bool knee_residual_shows_more(const shot_noise *told, const shot_noise *left, size_t n) {
    const double squared = left->lag1 * left->lag1;
    const double se = sqrt((6 + 2 * squared) / ((1 - squared) * (double)n));
    return knee_long_run_variance(left) > (1 + 3 * se) * knee_long_run_variance(told);
}
