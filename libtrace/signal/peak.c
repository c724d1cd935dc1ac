/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The peak of a sweep of unknown shape. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/peak.h>
#include <shottrace/signal/two_way.h>

#include <math.h>
#include <stdlib.h>

#include "lack_of_memory.h"
#include "signal/block_polynomial.h"
#include "signal/numbered.h"

enum { MOST_DEGREE = 4, TERMS = MOST_DEGREE + 1, STEPS = 400 };

/* Under this chance the parabola is taken not to fit: stricter than 5 %, since a misfit that is not
 * seen costs more than an interval that is too wide. */
static const double misfit_level = 0.1;

/* The complete points, x mapped to -1..1 over the sweep. */
struct sweep {
    double *x, *y;
    size_t *block;
    size_t n, blocks;
    double middle, half;
};

struct polynomial {
    int degree;
    double b[TERMS], v[TERMS * TERMS]; /* v[(degree + 1) * i + k] */
    double df, rest;
    double t, t_one_sided;
};

static void collect(const double *x, const double *y, const size_t *block, size_t n,
                    struct sweep *s) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]) || isnan(y[i]))
            continue;
        low = fmin(low, x[i]);
        high = fmax(high, x[i]);
        s->x[s->n] = x[i];
        s->block[s->n] = block == NULL ? 0 : block[i];
        s->y[s->n++] = y[i];
    }
    s->blocks = number_labels(s->block, s->n);
    s->half = (high - low) / 2;
    s->middle = low + s->half;
    for (size_t i = 0; i < s->n; i++) /* the ends exactly: they are asked for */
        s->x[i] = s->x[i] == low ? -1 : s->x[i] == high ? 1 : (s->x[i] - s->middle) / s->half;
}

static shot_status fit(const struct sweep *s, int degree, double level, struct polynomial *p) {
    shot_least_squares summary;
    SHOT_TRY(block_polynomial_fit(s->x, s->y, s->block, s->blocks, s->n, (size_t)degree, p->b, p->v,
                                  &summary));
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

/* The settings as if all blocks had them, and how sure their differences from the highest are. */
struct settings {
    size_t *of; /* [points] */
    double *x, *mean, *spread;
    size_t count;
    double sd, df; /* of single points */
};

/* The next setting below (-1) or above (1), or the end of the sweep. */
static double neighbour(const struct sweep *s, double x, int side) {
    double nearest = side;
    for (size_t i = 0; i < s->n; i++)
        if (side * (s->x[i] - x) > 0 && side * (s->x[i] - nearest) < 0)
            nearest = s->x[i];
    return nearest;
}

/* The settings that may be the highest. */
struct candidates {
    double highest;     /* the one that was */
    double first, last; /* of those that are not shown to be lower */
};

static struct candidates choose(const struct settings *all, double level) {
    struct candidates c = {.first = 1, .last = -1};
    const double t = shot_student_quantile(1 - (1 - level) / (double)(all->count - 1), all->df);
    size_t top = 0;
    for (size_t i = 1; i < all->count; i++)
        if (all->mean[i] > all->mean[top])
            top = i;
    c.highest = all->x[top];
    for (size_t i = 0; i < all->count; i++) {
        if (i != top && all->mean[top] - all->mean[i] > t * all->sd * sqrt(all->spread[i]))
            continue;
        c.first = fmin(c.first, all->x[i]);
        c.last = fmax(c.last, all->x[i]);
    }
    return c;
}

/* Scatter of single points: what settings and blocks leave, else that about the polynomial of the
 * highest degree. */
static shot_status fit_settings(const struct sweep *s, const struct polynomial *best,
                                struct settings *all) {
    double rest;
    for (size_t i = 0; i < s->n; i++)
        all->x[all->of[i]] = s->x[i];
    SHOT_TRY(shot_two_way_fit(s->y, all->of, all->count, s->block, s->blocks, s->n, all->mean, NULL,
                              all->spread, &rest, &all->df));
    if (!(all->df > 0)) {
        all->df = best->df;
        rest = best->rest;
    }
    all->sd = sqrt(rest / all->df);
    return SHOT_OK;
}

/* Where blocks and settings cannot be told apart, every setting may be the highest. */
static shot_status find_candidates(const struct sweep *s, const struct polynomial *best,
                                   double level, struct candidates *c) {
    struct settings all = {.of = malloc(s->n * sizeof *all.of)};
    if (all.of == NULL)
        return SHOT_ERR_MEMORY;
    all.count = number_values(s->x, s->n, all.of);
    all.x = malloc(3 * all.count * sizeof *all.x);
    shot_status status = SHOT_ERR_MEMORY;
    if (all.x != NULL) {
        all.mean = all.x + all.count;
        all.spread = all.mean + all.count;
        status = fit_settings(s, best, &all);
    }
    *c = status == SHOT_OK ? choose(&all, level) : (struct candidates){0, -1, 1};
    free(all.of);
    free(all.x);
    return lack_of_memory_only(status);
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
    out->place = s->middle + s->half * c->highest;
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
    struct candidates c;
    SHOT_TRY(find_candidates(s, &p[degrees], level, &c));
    if (!out->fits) {
        ask_settings(s, &c, out);
        return SHOT_OK;
    }
    out->by_parabola = out->parabola.peak && out->parabola.inside_p <= 1 - level;
    if (out->by_parabola)
        ask_polynomials(s, p, degrees, &c, out);
    return SHOT_OK;
}

shot_status shot_peak_find(const double *x, const double *y, const size_t *block, size_t n,
                           double level, shot_peak *out) {
    shot_peak found = {.place = NAN, .low = NAN, .high = NAN, .misfit_p = NAN};
    SHOT_TRY(shot_vertex_fit(x, y, block, n, level, &found.parabola));
    struct sweep s = {.x = malloc(2 * n * sizeof *s.x), .block = malloc(n * sizeof *s.block)};
    shot_status status = SHOT_ERR_MEMORY;
    if (s.x != NULL && s.block != NULL) {
        s.y = s.x + n;
        collect(x, y, block, n, &s);
        status = judge(&s, level, &found);
    }
    free(s.x);
    free(s.block);
    if (status == SHOT_OK)
        *out = found;
    return status;
}
