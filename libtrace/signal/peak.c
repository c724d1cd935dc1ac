/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The peak of a sweep of unknown shape. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/peak.h>

#include <math.h>
#include <stdlib.h>

#include "lack_of_memory.h"

enum { MOST_DEGREE = 4, TERMS = MOST_DEGREE + 1, STEPS = 400 };

/* Under this chance the parabola is taken not to fit: stricter than 5 %, since a misfit that is not
 * seen costs more than an interval that is too wide. */
static const double misfit_level = 0.1;

/* The complete points, x mapped to -1..1 over the sweep. */
struct sweep {
    double *x, *y;
    size_t n;
    double middle, half;
};

struct polynomial {
    int degree;
    double b[TERMS], v[TERMS * TERMS]; /* v[(degree + 1) * i + k] */
    double df, rest;
    double t, t_one_sided;
};

static void collect(const double *x, const double *y, size_t n, struct sweep *s) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]) || isnan(y[i]))
            continue;
        low = fmin(low, x[i]);
        high = fmax(high, x[i]);
        s->x[s->n] = x[i];
        s->y[s->n++] = y[i];
    }
    s->half = (high - low) / 2;
    s->middle = low + s->half;
    for (size_t i = 0; i < s->n; i++) /* the ends exactly: they are asked for */
        s->x[i] = s->x[i] == low ? -1 : s->x[i] == high ? 1 : (s->x[i] - s->middle) / s->half;
}

static shot_status fit(const struct sweep *s, int degree, double level, struct polynomial *p) {
    size_t terms = (size_t)degree + 1;
    double *a = malloc((terms * s->n + shot_least_squares_workspace(s->n, terms)) * sizeof *a);
    if (a == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k < terms; k++)
        for (size_t i = 0; i < s->n; i++)
            a[k * s->n + i] = k == 0 ? 1 : a[(k - 1) * s->n + i] * s->x[i];
    shot_least_squares summary;
    shot_status status =
        shot_least_squares_fit(a, s->y, s->n, terms, a + terms * s->n, p->b, p->v, &summary);
    free(a);
    SHOT_TRY(status);
    p->degree = degree;
    p->df = (double)summary.freedom;
    p->rest = summary.sum_of_squares;
    if (!(p->df >= 1))
        return SHOT_ERR_SINGULAR;
    p->t = shot_student_quantile((1 + level) / 2, p->df);
    p->t_one_sided = shot_student_quantile(level, p->df);
    return SHOT_OK;
}

/* The derivative of that order at u, and its standard error. */
static double derivative(const struct polynomial *p, int order, double u, double *se) {
    double w[TERMS], value = 0, variance = 0;
    int terms = p->degree + 1;
    for (int k = 0; k < terms; k++) {
        w[k] = k < order ? 0 : pow(u, k - order);
        for (int j = 0; j < order; j++)
            w[k] *= k - j;
        value += w[k] * p->b[k];
    }
    for (int i = 0; i < terms; i++)
        for (int k = 0; k < terms; k++)
            variance += w[i] * w[k] * p->v[terms * i + k];
    *se = sqrt(fmax(variance, 0));
    return value;
}

static bool allows(const struct polynomial *p, double u) {
    double se, slope = derivative(p, 1, u, &se);
    if (fabs(slope) > p->t * se)
        return false;
    double bend = derivative(p, 2, u, &se);
    return bend <= p->t_one_sided * se;
}

/* The border between a place that is allowed and one that is not, to 1e-9 of the sweep. */
static double border(const struct polynomial *p, double inside, double outside) {
    while (fabs(inside - outside) > 1e-9) {
        double middle = (inside + outside) / 2;
        *(allows(p, middle) ? &inside : &outside) = middle;
    }
    return inside;
}

/* Widen low..high by what the polynomial allows. */
static void widen(const struct polynomial *p, double *low, double *high) {
    int first = -1, last = -1;
    for (int i = 0; i <= STEPS; i++)
        if (allows(p, -1 + 2.0 * i / STEPS)) {
            first = first < 0 ? i : first;
            last = i;
        }
    if (first < 0)
        return;
    double step = 2.0 / STEPS, from = -1 + first * step, to = -1 + last * step;
    if (first > 0)
        from = border(p, from, from - step);
    if (last < STEPS)
        to = border(p, to, to + step);
    *low = fmin(*low, from);
    *high = fmax(*high, to);
}

/* F of the terms beyond the square, for a sweep without repeats. */
static double extra_terms_p(const struct polynomial *square, const struct polynomial *more) {
    double terms = square->df - more->df;
    double f = fmax(square->rest - more->rest, 0) / terms / (more->rest / more->df);
    return shot_f_tail(f, terms, more->df);
}

/* All degrees that the levels can carry, from the parabola on. */
static shot_status fit_all(const struct sweep *s, size_t levels, double level,
                           struct polynomial p[MOST_DEGREE + 1], int *degrees) {
    shot_status status = SHOT_OK;
    *degrees = 1;
    while (*degrees < MOST_DEGREE && levels >= (size_t)*degrees + 2) {
        status = fit(s, *degrees + 1, level, &p[*degrees + 1]);
        if (status != SHOT_OK)
            break;
        ++*degrees;
    }
    return lack_of_memory_only(status);
}

static void set_interval(const struct sweep *s, double low, double high, shot_peak *out) {
    out->open_below = low <= -1;
    out->open_above = high >= 1;
    out->low = s->middle + s->half * low;
    out->high = s->middle + s->half * high;
}

/* ---- settings, whatever the curve ---- */

/* The mean at the setting of point i, and how many points have it. */
static double mean_at(const struct sweep *s, size_t i, double *count) {
    double mean = 0;
    *count = 0;
    for (size_t k = 0; k < s->n; k++)
        if (s->x[k] == s->x[i])
            mean += (s->y[k] - mean) / ++*count;
    return mean;
}

/* The next setting below (-1) or above (1), or the end of the sweep. */
static double neighbour(const struct sweep *s, double x, int side) {
    double nearest = side;
    for (size_t i = 0; i < s->n; i++)
        if (side * (s->x[i] - x) > 0 && side * (s->x[i] - nearest) < 0)
            nearest = s->x[i];
    return nearest;
}

/* Scatter of single points and its degrees of freedom: of repeats, else about the polynomial of the
 * highest degree. */
static double scatter(const struct sweep *s, size_t settings, const struct polynomial *best,
                      double *df) {
    double squares = 0, count;
    *df = (double)(s->n - settings);
    if (!(*df > 0)) {
        *df = best->df;
        return sqrt(best->rest / best->df);
    }
    for (size_t i = 0; i < s->n; i++) {
        double rest = s->y[i] - mean_at(s, i, &count);
        squares += rest * rest;
    }
    return sqrt(squares / *df);
}

/* The settings that may be the highest. */
struct candidates {
    size_t highest;     /* a point at the one that was */
    double first, last; /* of those that are not shown to be lower */
};

static struct candidates find_candidates(const struct sweep *s, size_t settings,
                                         const struct polynomial *best, double level) {
    struct candidates c = {.first = 1, .last = -1};
    double df, sd = scatter(s, settings, best, &df), top_count, count;
    double t = shot_student_quantile(1 - (1 - level) / (double)(settings - 1), df);
    for (size_t i = 1; i < s->n; i++)
        if (mean_at(s, i, &count) > mean_at(s, c.highest, &top_count))
            c.highest = i;
    double top = mean_at(s, c.highest, &top_count);
    for (size_t i = 0; i < s->n; i++) {
        double mean = mean_at(s, i, &count);
        if (top - mean > t * sd * sqrt(1 / count + 1 / top_count))
            continue;
        c.first = fmin(c.first, s->x[i]);
        c.last = fmax(c.last, s->x[i]);
    }
    return c;
}

/* ---- the parabola fits ---- */

static void ask_polynomials(const struct sweep *s, const struct polynomial *p, int degrees,
                            const struct candidates *c, shot_peak *out) {
    double low = INFINITY, high = -INFINITY;
    for (int degree = 2; degree <= degrees && degree <= 3; degree++)
        widen(&p[degree], &low, &high);
    if (!(low <= high)) { /* nowhere is flat: the curve has no peak inside */
        out->by_parabola = false;
        return;
    }
    set_interval(s, low, high, out);
    out->shown = (!out->open_below || c->first > -1) && (!out->open_above || c->last < 1);
    out->by_parabola = !out->shown;
    out->place = fmin(fmax(out->parabola.place, out->low), out->high);
}

/* ---- it does not ---- */

static void ask_settings(const struct sweep *s, const struct candidates *c, shot_peak *out) {
    out->shown = c->first > -1 && c->last < 1;
    if (!out->shown)
        return;
    set_interval(s, neighbour(s, c->first, -1), neighbour(s, c->last, 1), out);
    out->place = s->middle + s->half * s->x[c->highest];
}

static shot_status judge(const struct sweep *s, double level, shot_peak *out) {
    struct polynomial p[MOST_DEGREE + 1];
    int degrees;
    SHOT_TRY(fit_all(s, out->parabola.levels, level, p, &degrees));
    out->misfit_p = out->parabola.lack_p;
    if (isnan(out->misfit_p) && degrees > 2)
        out->misfit_p = extra_terms_p(&p[2], &p[degrees]);
    out->fits = out->misfit_p >= misfit_level;
    if (isnan(out->misfit_p) || degrees < 3)
        return SHOT_OK;
    const struct candidates c = find_candidates(s, out->parabola.levels, &p[degrees], level);
    if (!out->fits) {
        ask_settings(s, &c, out);
        return SHOT_OK;
    }
    out->by_parabola = out->parabola.peak && out->parabola.inside_p <= 1 - level;
    if (out->by_parabola)
        ask_polynomials(s, p, degrees, &c, out);
    return SHOT_OK;
}

shot_status shot_peak_find(const double *x, const double *y, size_t n, double level,
                           shot_peak *out) {
    shot_peak found = {.place = NAN, .low = NAN, .high = NAN, .misfit_p = NAN};
    SHOT_TRY(shot_vertex_fit(x, y, n, level, &found.parabola));
    struct sweep s = {.x = malloc(2 * n * sizeof *s.x)};
    if (s.x == NULL)
        return SHOT_ERR_MEMORY;
    s.y = s.x + n;
    collect(x, y, n, &s);
    const shot_status status = judge(&s, level, &found);
    free(s.x);
    if (status == SHOT_OK)
        *out = found;
    return status;
}
