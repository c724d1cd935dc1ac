/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much correlated noise of its samples a fit lets through. */
#ifndef SHOT_SIGNAL_FIT_NOISE_H
#define SHOT_SIGNAL_FIT_NOISE_H

#include <shottrace/signal/local_fit.h>

/* A zeroed one is that of independent noise. */
typedef struct fit_noise {
    double correlation; /* time in which it falls to 1/e, s; 0: none */
    double *weights;    /* of the samples of a fit     owned [room] */
    size_t room;
} fit_noise;

/* The variance of the fit's derivative at time `at`, where the noise of each of its samples t [n],
 * rising, has variance 1.  SHOT_ERR_MEMORY. */
shot_status fit_noise_gain(fit_noise *noise, const shot_local_fit *fit, const double *t, size_t n,
                           double at, size_t derivative, double *gain);

void fit_noise_free(fit_noise *noise);

#endif
