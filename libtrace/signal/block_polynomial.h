/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A polynomial that all blocks share, each at a level of its own. */
#ifndef SHOT_SIGNAL_BLOCK_POLYNOMIAL_H
#define SHOT_SIGNAL_BLOCK_POLYNOMIAL_H

#include <stddef.h>

#include <shottrace/signal/least_squares.h>

/* Least squares of y on the powers of x from 1 to `degree` and a level for each block.
 *   block  which of `blocks`, from 0, each with a value [n]
 *   b      receives the coefficients from the constant on, which is that of the average block, each
 *          value counting as one [degree + 1]
 *   v      receives their covariance [(degree + 1) * (degree + 1)]
 * Returns SHOT_OK; SHOT_ERR_SINGULAR, also where n < blocks + degree; SHOT_ERR_MEMORY.
 * Source: analysis of covariance in randomised blocks, Snedecor & Cochran 1989, 'Statistical
 * Methods', 8th ed., ch. 14 and 18. */
shot_status block_polynomial_fit(const double *x, const double *y, const size_t *block,
                                 size_t blocks, size_t n, size_t degree, double *b, double *v,
                                 shot_least_squares *fit);

#endif
