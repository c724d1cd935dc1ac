/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Linear least squares, for small dense problems: the x that makes |A x - b| least, how sure each
 * parameter is, and what remains.
 *
 *     double work[...];               shot_least_squares_workspace(rows, columns) doubles
 *     shot_least_squares fit;
 *     shot_least_squares_fit(a, b, rows, columns, work, x, covariance, &fit);
 *     se_of_slope = sqrt(covariance[1 * columns + 1]);
 *
 * Householder QR of the matrix with its columns scaled to length 1: errors grow with the condition
 * of A, not with its square as in the normal equations.
 *
 * Sources: Golub & Van Loan 2013, 'Matrix Computations', 4th ed., algorithms 5.1.1, 5.2.1 and
 * 5.3.2; van der Sluis 1969, 'Condition numbers and equilibration of matrices', Numer. Math.
 * 14:14-23 (why the columns are scaled).
 */
#ifndef SHOTTRACE_SIGNAL_LEAST_SQUARES_H
#define SHOTTRACE_SIGNAL_LEAST_SQUARES_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_least_squares {
    double sum_of_squares; /* of the residuals b - A x */
    size_t freedom;        /* rows - columns */
    double sd;             /* residual standard deviation, sqrt(sum_of_squares / freedom);
                              NaN where freedom is 0 */
} shot_least_squares;

/* The number of doubles that shot_least_squares_fit needs as its workspace. */
SHOT_API size_t shot_least_squares_workspace(size_t rows, size_t columns);

/* Fit.
 *   a           the matrix, one column after the other           [columns * rows], finite
 *   b           the right-hand side                              [rows], finite
 *   rows        rows >= columns
 *   columns     columns >= 1
 *   workspace   shot_least_squares_workspace(rows, columns) doubles, any content
 *   x           receives the parameters                          [columns]
 *   covariance  receives their covariance, row by row            [columns * columns], or NULL:
 *               sd^2 (A'A)^-1; NaN where rows == columns, since nothing is left to judge by
 *   fit         receives the summary, or NULL
 * Returns SHOT_OK; SHOT_ERR_RANGE for rows < columns or no columns; SHOT_ERR_SINGULAR if a column
 * is, to within rounding, a combination of those before it.  On failure the results are
 * untouched. */
SHOT_API shot_status shot_least_squares_fit(const double *a, const double *b, size_t rows,
                                            size_t columns, double *workspace, double *x,
                                            double *covariance, shot_least_squares *fit);

#ifdef __cplusplus
}
#endif
#endif
