/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The normal equations after the level is taken out (sums about the means), 1 by 1 or 2 by 2, and
 * then the residuals themselves: a sum of squares as a difference of sums would lose what is left
 * where the curve fits to the last digit.  Four sums run side by side and are added at the end, so
 * that vectors of any length give the same bits. */
#include "signal/power_fit.h"

#include <math.h>

#include "signal/wide.h"

enum { LANES = 4 };

/* Parts of a column that nothing but rounding leaves. */
static const double nothing = 1e-12;

size_t power_fit_workspace(size_t n) {
    return 4 * n;
}

void power_fit_begin(power_fit *fit, const double *t, const double *y, size_t n, bool sloped,
                     double *work) {
    *fit = (power_fit){.n = n,
                       .sloped = sloped,
                       .t_first = t[0],
                       .y_first = y[0],
                       .t = work,
                       .y = work + n,
                       .u = work + 2 * n,
                       .way = work + 3 * n};
    for (size_t i = 0; i < n; i++) {
        fit->t[i] = t[i] - t[0];
        fit->y[i] = y[i] - y[0];
        fit->sum_y += fit->y[i];
    }
}

void power_fit_level(power_fit *fit, double level, double weight) {
    fit->level = level - fit->y_first;
    fit->weight = weight;
}

/* ---- sums ---- */

typedef struct way_sums {
    double way, squares, with_y, with_u;
} way_sums;

static double together(const double lane[LANES]) {
    return (lane[0] + lane[1]) + (lane[2] + lane[3]);
}

/* Of so many samples side by side. */
typedef struct lane_sums {
    double way[LANES], squares[LANES], with_y[LANES], with_u[LANES];
} lane_sums;

SHOT_INLINE void add_way(double *way, const double *y, const double *u, size_t count,
                         lane_sums *s) {
#pragma omp simd
    for (size_t k = 0; k < count; k++) {
        way[k] *= u[k];
        s->way[k] += way[k];
        s->squares[k] += way[k] * way[k];
        s->with_y[k] += way[k] * y[k];
        s->with_u[k] += way[k] * u[k];
    }
}

/* Over the samples behind t0, raised to the next power. */
SHOT_WIDE static void sum_way(double *restrict way, const double *restrict y,
                              const double *restrict u, size_t n, way_sums *out) {
    lane_sums s = {{0}, {0}, {0}, {0}};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        add_way(way + i, y + i, u + i, LANES, &s);
    add_way(way + i, y + i, u + i, n - i, &s);
    *out = (way_sums){together(s.way), together(s.squares), together(s.with_y), together(s.with_u)};
}

/* What is left of y beside a curve b + d u + c way. */
typedef struct curve {
    double b, d, c;
} curve;

SHOT_INLINE void add_residuals(const double *y, const double *u, const double *way, size_t count,
                               const curve *of, double *sum) {
#pragma omp simd
    for (size_t k = 0; k < count; k++) {
        const double r = y[k] - of->b - of->d * u[k] - of->c * way[k];
        sum[k] += r * r;
    }
}

SHOT_WIDE static double sum_residuals(const double *restrict y, const double *restrict u,
                                      const double *restrict way, size_t n, const curve *of) {
    double sum[LANES] = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        add_residuals(y + i, u + i, way + i, LANES, of, sum);
    add_residuals(y + i, u + i, way + i, n - i, of, sum);
    return together(sum);
}

/* ---- one instant ---- */

SHOT_WIDE static void shift(const double *restrict t, double t0, size_t n, double *restrict u) {
    for (size_t i = 0; i < n; i++)
        u[i] = t[i] - t0;
}

SHOT_INLINE void add_slope(const double *u, const double *y, size_t count, double *s, double *ss,
                           double *sy) {
#pragma omp simd
    for (size_t k = 0; k < count; k++) {
        s[k] += u[k];
        ss[k] += u[k] * u[k];
        sy[k] += u[k] * y[k];
    }
}

SHOT_WIDE static void sum_slope(const double *restrict u, const double *restrict y, size_t n,
                                double *sum, double *squares, double *with_y) {
    double s[LANES] = {0}, ss[LANES] = {0}, sy[LANES] = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        add_slope(u + i, y + i, LANES, s, ss, sy);
    add_slope(u + i, y + i, n - i, s, ss, sy);
    *sum = together(s);
    *squares = together(ss);
    *with_y = together(sy);
}

/* The first sample with u > 0, which rises. */
static size_t first_behind(const double *u, size_t n) {
    size_t low = 0, high = n;
    while (low < high) {
        const size_t middle = (low + high) / 2;
        if (u[middle] > 0)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

void power_fit_at(power_fit *fit, double t0) {
    shift(fit->t, t0 - fit->t_first, fit->n, fit->u);
    fit->power = 0;
    fit->first = first_behind(fit->u, fit->n);
    for (size_t i = 0; i < fit->first; i++)
        fit->way[i] = 0;
    for (size_t i = fit->first; i < fit->n; i++)
        fit->way[i] = 1;
    if (fit->sloped)
        sum_slope(fit->u, fit->y, fit->n, &fit->sum_u, &fit->sum_uu, &fit->sum_uy);
}

/* ---- one power ---- */

/* Sums about the means: the known level is a sample at u = 0 that weighs as several. */
static bool solve(const power_fit *fit, const way_sums *s, curve *out) {
    const double n = (double)fit->n + fit->weight, sum_y = fit->sum_y + fit->weight * fit->level;
    const double ww = s->squares - s->way * s->way / n, wy = s->with_y - s->way * sum_y / n;
    double c, d = 0;
    if (!(ww > nothing * s->squares))
        return false;
    if (fit->sloped) {
        const double uu = fit->sum_uu - fit->sum_u * fit->sum_u / n;
        const double wu = s->with_u - s->way * fit->sum_u / n;
        const double uy = fit->sum_uy - fit->sum_u * sum_y / n, left = ww * uu - wu * wu;
        if (!(left > nothing * ww * uu))
            return false;
        c = (wy * uu - uy * wu) / left;
        d = (uy * ww - wy * wu) / left;
    } else {
        c = wy / ww;
    }
    *out = (curve){.b = (sum_y - c * s->way - d * fit->sum_u) / n, .d = d, .c = c};
    return true;
}

bool power_fit_next(power_fit *fit, double *c, double *squares) {
    const size_t from = fit->first, behind = fit->n - fit->first;
    way_sums sums;
    curve best;
    fit->power++;
    sum_way(fit->way + from, fit->y + from, fit->u + from, behind, &sums);
    if (!solve(fit, &sums, &best))
        return false;
    const double off = fit->level - best.b, known = fit->weight * off * off;
    *c = best.c;
    *squares = known + sum_residuals(fit->y, fit->u, fit->way, fit->n, &best);
    return true;
}
