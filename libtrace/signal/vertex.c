/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The vertex of a parabola. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/vertex.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/two_way.h>

#include "lack_of_memory.h"
#include "signal/block_polynomial.h"
#include "signal/numbered.h"

/* Of the largest square: repeats that scatter by less are alike but for rounding. */
static const double rounding = 1e-24;

/* The points that are complete, with x about its middle: the fit loses no digits there. */
struct points {
    double *x, *y;
    size_t *block;
    size_t n, blocks;
    double middle, first, last; /* of x; the ends about the middle */
};

/* The parabola about the middle. */
struct parabola {
    double b[3], v[9], rest;
    double df;
};

static void collect(const double *x, const double *y, const size_t *block, size_t n,
                    struct points *p) {
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]) || isnan(y[i]))
            continue;
        p->x[p->n] = x[i];
        p->block[p->n] = block == NULL ? 0 : block[i];
        p->y[p->n++] = y[i];
    }
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->n; i++) {
        low = fmin(low, p->x[i]);
        high = fmax(high, p->x[i]);
    }
    p->blocks = number_labels(p->block, p->n);
    p->middle = low + (high - low) / 2;
    p->first = low - p->middle;
    p->last = high - p->middle;
    for (size_t i = 0; i < p->n; i++)
        p->x[i] -= p->middle;
}

static shot_status fit_parabola(const struct points *p, struct parabola *q) {
    shot_least_squares fit;
    if (p->n < 4)
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(block_polynomial_fit(p->x, p->y, p->block, p->blocks, p->n, 2, q->b, q->v, &fit));
    q->rest = fit.sum_of_squares;
    q->df = (double)fit.freedom;
    return SHOT_OK;
}

/* Sum of squares that settings and blocks leave, and its degrees of freedom; NaN where these cannot
 * be told apart. */
static shot_status pure_error(const struct points *p, size_t *levels, double *squares, double *df) {
    size_t *setting = malloc(p->n * sizeof *setting);
    double *level = malloc(p->n * sizeof *level);
    shot_status status = SHOT_ERR_MEMORY;
    *squares = *df = NAN;
    if (setting != NULL && level != NULL) {
        *levels = number_values(p->x, p->n, setting);
        status = shot_two_way_fit(p->y, setting, *levels, p->block, p->blocks, p->n, level, NULL,
                                  NULL, squares, df);
    }
    free(setting);
    free(level);
    return lack_of_memory_only(status);
}

static shot_status test_lack_of_fit(const struct points *p, const struct parabola *q,
                                    shot_vertex *out) {
    double pure, df, largest = 0;
    SHOT_TRY(pure_error(p, &out->levels, &pure, &df));
    for (size_t i = 0; i < p->n; i++)
        largest = fmax(largest, fabs(p->y[i]));
    out->lack_df1 = (double)out->levels - 3;
    out->lack_df2 = df;
    out->lack_f = out->lack_p = NAN;
    if (!(out->lack_df1 > 0) || !(df > 0) || !(pure > rounding * largest * largest))
        return SHOT_OK;
    out->lack_f = fmax(q->rest - pure, 0) / out->lack_df1 / (pure / df);
    out->lack_p = shot_f_tail(out->lack_f, out->lack_df1, df);
    return SHOT_OK;
}

/* t of the slope at x: b1 + 2 b2 x over its standard error. */
static double slope_t(const struct parabola *q, double x) {
    double variance = q->v[4] + 4 * x * q->v[5] + 4 * x * x * q->v[8];
    return (q->b[1] + 2 * q->b[2] * x) / sqrt(variance);
}

/* Where is (b1 + 2 b2 x)^2 <= t^2 Var(b1 + 2 b2 x)?  A quadratic inequality in x: Fieller. */
static void find_interval(const struct parabola *q, double t, shot_vertex *out) {
    double t2 = t * t, a = 4 * (q->b[2] * q->b[2] - t2 * q->v[8]);
    double half = 2 * (q->b[1] * q->b[2] - t2 * q->v[5]); /* half the linear term */
    double c = q->b[1] * q->b[1] - t2 * q->v[4], under = half * half - a * c;
    out->g = t2 * q->v[8] / (q->b[2] * q->b[2]);
    out->bounds = a > 0 ? SHOT_VERTEX_BOUNDED : SHOT_VERTEX_RAYS;
    if (!(under > 0) || a == 0) {
        out->bounds = SHOT_VERTEX_EVERYWHERE;
        out->low = -INFINITY;
        out->high = INFINITY;
        return;
    }
    double far = -(half + copysign(sqrt(under), half)); /* the sum that does not cancel */
    double one = far / a, other = c / far;
    out->low = fmin(one, other);
    out->high = fmax(one, other);
}

static void find_vertex(const struct parabola *q, double t, shot_vertex *out) {
    out->place = out->height = out->se = out->delta_low = out->delta_high = NAN;
    out->low = out->high = out->g = NAN;
    out->peak = q->b[2] < 0;
    if (!out->peak)
        return;
    double x = -q->b[1] / (2 * q->b[2]);
    out->place = x;
    out->height = q->b[0] + q->b[1] * x / 2;
    out->se = sqrt(q->v[4] + 4 * x * q->v[5] + 4 * x * x * q->v[8]) / fabs(2 * q->b[2]);
    out->delta_low = x - t * out->se;
    out->delta_high = x + t * out->se;
    find_interval(q, t, out);
}

/* From about the middle to x as it came. */
static void move_back(const struct parabola *q, double middle, shot_vertex *out) {
    out->b[2] = q->b[2];
    out->b[1] = q->b[1] - 2 * q->b[2] * middle;
    out->b[0] = q->b[0] - q->b[1] * middle + q->b[2] * middle * middle;
    out->v22 = q->v[8];
    out->v12 = q->v[5] - 2 * middle * q->v[8];
    out->v11 = q->v[4] - 4 * middle * q->v[5] + 4 * middle * middle * q->v[8];
    out->place += middle;
    out->delta_low += middle;
    out->delta_high += middle;
    out->low += middle;
    out->high += middle;
}

static shot_status judge(const struct points *p, const struct parabola *q, double level,
                         shot_vertex *out) {
    out->n = p->n;
    out->df = q->df;
    out->sd = sqrt(q->rest / q->df);
    find_vertex(q, shot_student_quantile((1 + level) / 2, q->df), out);
    out->bend_p = shot_student_cdf(q->b[2] / sqrt(q->v[8]), q->df);
    /* Rising at the first x and falling at the last: the weaker of the two decides. */
    double rises = shot_student_tail(slope_t(q, p->first), q->df);
    double falls = shot_student_cdf(slope_t(q, p->last), q->df);
    out->inside_p = fmax(rises, falls);
    SHOT_TRY(test_lack_of_fit(p, q, out));
    move_back(q, p->middle, out);
    return SHOT_OK;
}

static shot_status fit_and_judge(const struct points *p, double level, shot_vertex *out) {
    struct parabola q;
    shot_vertex found;
    SHOT_TRY(fit_parabola(p, &q));
    if (!(q.v[8] > 0))
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(judge(p, &q, level, &found));
    *out = found;
    return SHOT_OK;
}

shot_status shot_vertex_fit(const double *x, const double *y, const size_t *block, size_t n,
                            double level, shot_vertex *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    if (n == 0)
        return SHOT_ERR_SINGULAR;
    struct points p = {.x = malloc(2 * n * sizeof *p.x), .block = malloc(n * sizeof *p.block)};
    shot_status status = SHOT_ERR_MEMORY;
    if (p.x != NULL && p.block != NULL) {
        p.y = p.x + n;
        collect(x, y, block, n, &p);
        status = fit_and_judge(&p, level, out);
    }
    free(p.x);
    free(p.block);
    return status;
}
