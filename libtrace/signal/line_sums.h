/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Running sums from which the least-squares cost of any straight piece is read in constant time.
 * Shared by segmented_line and slope_partition. */
#ifndef SHOT_SIGNAL_LINE_SUMS_H
#define SHOT_SIGNAL_LINE_SUMS_H

#include <stdbool.h>

#include <shottrace/status.h>

/* Weighted sums over some samples: w, w x, w y, w x^2, w x y, w y^2. */
typedef struct line_moments {
    double w, x, y, xx, xy, yy;
} line_moments;

/* The samples that are not missing, with time and value measured from their means: the sums lose
 * digits by the square of (span / length of a piece), not by the size of the clock. */
typedef struct line_sums {
    size_t n;
    double x0, y0;        /* what was subtracted */
    double *x, *y, *w;    /* [n] */
    line_moments *before; /* [n + 1]: before[i] sums samples 0..i-1 */
} line_sums;

/* Take the samples whose y is not NaN.  t must not fall; weights NULL means 1.
 * Errors: SHOT_ERR_RANGE, SHOT_ERR_MEMORY; *out is then NULL. */
shot_status line_sums_new(const double *t, const double *y, const double *weights, size_t n,
                          line_sums **out);
void line_sums_free(line_sums *sums);

/* Number of samples with x <= place. */
size_t line_sums_index(const line_sums *sums, double place);

/* The same, sooner found the nearer the guess is. */
size_t line_sums_index_near(const line_sums *sums, double place, size_t guess);

/* Sums over samples from .. to-1 with x measured from `origin`. */
line_moments line_sums_over(const line_sums *sums, size_t from, size_t to, double origin);

/* A straight line y = level + slope (x - mean_x) with the sums behind its variance. */
typedef struct line_fit {
    double level, slope, mean_x;
    double weight, sxx;
} line_fit;

/* The least-squares line through samples from .. to-1; false where they do not fix it (fewer than
 * two distinct times). */
bool line_sums_line(const line_sums *sums, size_t from, size_t to, line_fit *out);

/* The least-squares broken line with knots knot[0] < ... < knot[m-1]; piece k has the samples
 * cut[k] .. cut[k+1]-1, cut is [m].  value [m] receives the values at the knots; work holds 2 m.
 * Returns the residual sum of squares, infinite where the samples do not fix the line. */
double line_sums_broken_at(const line_sums *sums, const size_t *cut, const double *knot, size_t m,
                           double *value, double *work);

/* The residual sum of squares of all samples about the broken line with the given values at its
 * knots, sample by sample: it keeps the digits that a difference of sums loses. */
double line_sums_residual(const line_sums *sums, const double *knot, size_t m, const double *value);

/* a + b v + c v^2: the least residual sum of squares of the samples on one side of a place, as a
 * function of the value v of the line there. */
typedef struct line_cost {
    double a, b, c;
} line_cost;

/* Continue a cost, from the left end of a piece to its right end or the other way, with the value
 * at the end that it leaves chosen best.  `m` are the moments of the piece with x measured from
 * its left end, `length` the way to its right end. */
line_cost line_cost_rightward(const line_cost *from, const line_moments *m, double length);
line_cost line_cost_leftward(const line_cost *from, const line_moments *m, double length);

#endif
