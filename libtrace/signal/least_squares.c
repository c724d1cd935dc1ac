/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Linear least squares by Householder QR.  The workspace holds the scaled columns, the right-hand
 * side, the lengths of the columns and the diagonal of R; R's upper triangle and the Householder
 * vectors share the columns (Golub & Van Loan 2013, 5.2.2). */
#include <shottrace/signal/least_squares.h>

#include <float.h>
#include <math.h>
#include <string.h>

#include "magnitude.h"
#include "wide.h"

typedef struct factors {
    double *q;        /* columns: above the diagonal R, from the diagonal on a Householder vector */
    double *b;        /* becomes Q'b */
    double *length;   /* of each column of A */
    double *diagonal; /* of R */
    size_t rows, columns;
} factors;

size_t shot_least_squares_workspace(size_t rows, size_t columns) {
    return rows * (columns + 1) + 2 * columns;
}

SHOT_WIDE static void square_over(const double *restrict v, size_t n, double largest,
                                  double *restrict out) {
    for (size_t i = 0; i < n; i++)
        out[i] = (v[i] / largest) * (v[i] / largest);
}

/* Length of a vector without overflow or underflow of its squares, which are summed in order. */
static double length_of(const double *v, size_t n) {
    enum { SOME = 64 };
    const double largest = largest_magnitude(v, n);
    double squares[SOME], sum = 0;
    if (largest == 0)
        return 0;
    for (size_t done = 0, some; done < n; done += some) {
        some = n - done < SOME ? n - done : SOME;
        square_over(v + done, some, largest, squares);
        for (size_t i = 0; i < some; i++)
            sum += squares[i];
    }
    return largest * sqrt(sum);
}

static shot_status load(factors *f, const double *a, const double *b) {
    memcpy(f->b, b, f->rows * sizeof *b);
    for (size_t k = 0; k < f->columns; k++) {
        f->length[k] = length_of(a + k * f->rows, f->rows);
        if (!(f->length[k] > 0) || !isfinite(f->length[k]))
            return SHOT_ERR_SINGULAR;
        for (size_t i = 0; i < f->rows; i++)
            f->q[k * f->rows + i] = a[k * f->rows + i] / f->length[k];
    }
    return SHOT_OK;
}

/* Reflect: target -= v (v'target) 2 / (v'v), over rows first..rows-1. */
static void reflect(const double *restrict v, double *restrict target, size_t first, size_t rows,
                    double half_norm) {
    double dot = 0;
    for (size_t i = first; i < rows; i++)
        dot += v[i] * target[i];
    dot /= half_norm;
    for (size_t i = first; i < rows; i++)
        target[i] -= dot * v[i];
}

/* Algorithm 5.2.1.  The columns have length 1, so |diagonal[k]| is the sine of the angle between
 * column k and those before it: of the order of rows * epsilon where nothing but rounding is left.
 */
static shot_status factorise(factors *f) {
    const double least = (double)f->rows * DBL_EPSILON;
    for (size_t k = 0; k < f->columns; k++) {
        double *v = f->q + k * f->rows;
        const double norm = length_of(v + k, f->rows - k);
        if (norm <= least)
            return SHOT_ERR_SINGULAR;
        f->diagonal[k] = v[k] > 0 ? -norm : norm;
        v[k] -= f->diagonal[k];
        const double half_norm = -f->diagonal[k] * v[k]; /* v'v / 2 */
        for (size_t j = k + 1; j < f->columns; j++)
            reflect(v, f->q + j * f->rows, k, f->rows, half_norm);
        reflect(v, f->b, k, f->rows, half_norm);
    }
    return SHOT_OK;
}

/* R x = b for the leading columns, then undo the scaling of the columns. */
static void back_substitute(const factors *f, double *x) {
    for (size_t k = f->columns; k-- > 0;) {
        double sum = f->b[k];
        for (size_t j = k + 1; j < f->columns; j++)
            sum -= f->q[j * f->rows + k] * x[j];
        x[k] = sum / f->diagonal[k];
    }
    for (size_t k = 0; k < f->columns; k++)
        x[k] /= f->length[k];
}

/* The inverse of R, upper triangle, row by row: column j solves R c = e_j. */
static void invert(const factors *f, double *inverse) {
    const size_t n = f->columns;
    memset(inverse, 0, n * n * sizeof *inverse);
    for (size_t j = 0; j < n; j++) {
        for (size_t k = j + 1; k-- > 0;) {
            double sum = k == j;
            for (size_t i = k + 1; i <= j; i++)
                sum -= f->q[i * f->rows + k] * inverse[i * n + j];
            inverse[k * n + j] = sum / f->diagonal[k];
        }
    }
}

/* sd^2 (R'R)^-1 = sd^2 R^-1 R^-T, in place of R^-1: entry (i, j), j >= i, needs only rows i and j
 * from column j on, so going down and to the right nothing is overwritten too early. */
static void covariance_of(const factors *f, double variance, double *c) {
    const size_t n = f->columns;
    invert(f, c);
    for (size_t i = 0; i < n; i++) {
        for (size_t j = i; j < n; j++) {
            double sum = 0;
            for (size_t k = j; k < n; k++)
                sum += c[i * n + k] * c[j * n + k];
            c[i * n + j] = variance * sum / f->length[i] / f->length[j];
        }
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            c[i * n + j] = c[j * n + i];
}

shot_status shot_least_squares_fit(const double *a, const double *b, size_t rows, size_t columns,
                                   double *workspace, double *x, double *covariance,
                                   shot_least_squares *fit) {
    if (columns == 0 || rows < columns)
        return SHOT_ERR_RANGE;
    factors f = {.q = workspace, .rows = rows, .columns = columns};
    f.b = f.q + rows * columns;
    f.length = f.b + rows;
    f.diagonal = f.length + columns;
    SHOT_TRY(load(&f, a, b));
    SHOT_TRY(factorise(&f));
    back_substitute(&f, x);
    const double rest = length_of(f.b + columns, rows - columns);
    const size_t freedom = rows - columns;
    const double variance = freedom > 0 ? rest * rest / (double)freedom : NAN;
    if (covariance != NULL)
        covariance_of(&f, variance, covariance);
    if (fit != NULL)
        *fit = (shot_least_squares){rest * rest, freedom, sqrt(variance)};
    return SHOT_OK;
}
