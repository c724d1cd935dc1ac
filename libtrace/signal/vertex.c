/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The vertex of a parabola. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/vertex.h>

#include <math.h>
#include <stdlib.h>

/* The points that are complete, with x about its middle: the fit loses no digits there. */
struct points {
    double *x, *y;
    size_t n;
    double middle, first, last; /* of x; the ends about the middle */
};

/* The parabola about the middle. */
struct parabola {
    double b[3], v[9], rest;
    double df;
};

static void collect(const double *x, const double *y, size_t n, struct points *p) {
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]) || isnan(y[i]))
            continue;
        p->x[p->n] = x[i];
        p->y[p->n++] = y[i];
    }
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->n; i++) {
        low = fmin(low, p->x[i]);
        high = fmax(high, p->x[i]);
    }
    p->middle = low + (high - low) / 2;
    p->first = low - p->middle;
    p->last = high - p->middle;
    for (size_t i = 0; i < p->n; i++)
        p->x[i] -= p->middle;
}

static shot_status fit_parabola(const struct points *p, struct parabola *q) {
    if (p->n < 4)
        return SHOT_ERR_SINGULAR;
    double *a = malloc((3 * p->n + shot_least_squares_workspace(p->n, 3)) * sizeof *a);
    if (a == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < p->n; i++) {
        a[i] = 1;
        a[p->n + i] = p->x[i];
        a[2 * p->n + i] = p->x[i] * p->x[i];
    }
    shot_least_squares fit;
    shot_status status = shot_least_squares_fit(a, p->y, p->n, 3, a + 3 * p->n, q->b, q->v, &fit);
    free(a);
    if (status == SHOT_OK) {
        q->rest = fit.sum_of_squares;
        q->df = (double)fit.freedom;
    }
    return status;
}

/* Sum of squares within repeats of the same x, and the number of different x. */
static double pure_error(const struct points *p, size_t *levels) {
    double squares = 0;
    *levels = 0;
    for (size_t i = 0; i < p->n; i++) {
        double mean = 0, count = 0;
        size_t first = p->n;
        for (size_t j = p->n; j-- > 0;) {
            if (p->x[j] != p->x[i])
                continue;
            first = j;
            mean += (p->y[j] - mean) / ++count;
        }
        *levels += first == i;
        squares += (p->y[i] - mean) * (p->y[i] - mean);
    }
    return squares;
}

static void test_lack_of_fit(const struct points *p, const struct parabola *q, shot_vertex *out) {
    double pure = pure_error(p, &out->levels);
    out->lack_df1 = (double)out->levels - 3;
    out->lack_df2 = (double)(p->n - out->levels);
    out->lack_f = out->lack_p = NAN;
    if (!(out->lack_df1 > 0) || !(out->lack_df2 > 0) || !(pure > 0))
        return;
    out->lack_f = fmax(q->rest - pure, 0) / out->lack_df1 / (pure / out->lack_df2);
    out->lack_p = shot_f_tail(out->lack_f, out->lack_df1, out->lack_df2);
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

static void judge(const struct points *p, const struct parabola *q, double level,
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
    test_lack_of_fit(p, q, out);
    move_back(q, p->middle, out);
}

shot_status shot_vertex_fit(const double *x, const double *y, size_t n, double level,
                            shot_vertex *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    struct points p = {.x = malloc(2 * n * sizeof *p.x)};
    if (p.x == NULL)
        return n == 0 ? SHOT_ERR_SINGULAR : SHOT_ERR_MEMORY;
    p.y = p.x + n;
    collect(x, y, n, &p);
    struct parabola q;
    shot_status status = fit_parabola(&p, &q);
    if (status == SHOT_OK && !(q.v[8] > 0))
        status = SHOT_ERR_SINGULAR;
    if (status == SHOT_OK)
        judge(&p, &q, level, out);
    free(p.x);
    return status;
}
