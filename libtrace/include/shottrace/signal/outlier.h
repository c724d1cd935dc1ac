/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The odd one out of a sample. */
#ifndef SHOTTRACE_SIGNAL_OUTLIER_H
#define SHOTTRACE_SIGNAL_OUTLIER_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_outlier {
    size_t index; /* of the value that is furthest from the mean */
    double g;     /* its distance in standard deviations of the whole sample */
    double p;     /* chance that the furthest of n normal values is as far or further; an upper
                     bound, exact where it is small */
} shot_outlier;

/* Grubbs' two-sided test of the furthest value.
 *   x  missing values (NaN) are left out; the index counts them [n]
 * Returns SHOT_OK; SHOT_ERR_SINGULAR with fewer than three values or no scatter.
 * Source: Grubbs 1950, 'Sample criteria for testing outlying observations', Ann. Math. Stat.
 * 21(1):27-58; p from the t distribution as in NIST/SEMATECH e-Handbook 1.3.5.17.1. */
SHOT_API shot_status shot_outlier_grubbs(const double *x, size_t n, shot_outlier *out);

#ifdef __cplusplus
}
#endif
#endif
