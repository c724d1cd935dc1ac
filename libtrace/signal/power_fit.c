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

/* Over the samples behind t0. */
SHOT_WIDE static void sum_way(const double *restrict way, const double *restrict y,
                              const double *restrict u, size_t n, way_sums *out) {
    double w[LANES] = {0}, ww[LANES] = {0}, wy[LANES] = {0}, wu[LANES] = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        for (size_t k = 0; k < LANES; k++) {
            w[k] += way[i + k];
            ww[k] += way[i + k] * way[i + k];
            wy[k] += way[i + k] * y[i + k];
            wu[k] += way[i + k] * u[i + k];
        }
    for (size_t k = 0; i < n; i++, k++) {
        w[k] += way[i];
        ww[k] += way[i] * way[i];
        wy[k] += way[i] * y[i];
        wu[k] += way[i] * u[i];
    }
    *out = (way_sums){together(w), together(ww), together(wy), together(wu)};
}

SHOT_WIDE static double sum_residuals(const double *restrict y, const double *restrict u,
                                      const double *restrict way, size_t n, double b, double d,
                                      double c) {
    double sum[LANES] = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        for (size_t k = 0; k < LANES; k++) {
            const double r = y[i + k] - b - d * u[i + k] - c * way[i + k];
            sum[k] += r * r;
        }
    for (size_t k = 0; i < n; i++, k++) {
        const double r = y[i] - b - d * u[i] - c * way[i];
        sum[k] += r * r;
    }
    return together(sum);
}

/* ---- one instant ---- */

SHOT_WIDE static void shift(const double *restrict t, double t0, size_t n, double *restrict u) {
    for (size_t i = 0; i < n; i++)
        u[i] = t[i] - t0;
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
    fit->sum_u = fit->sum_uu = fit->sum_uy = 0;
    for (size_t i = 0; i < fit->first; i++)
        fit->way[i] = 0;
    for (size_t i = fit->first; i < fit->n; i++)
        fit->way[i] = 1;
    for (size_t i = 0; i < fit->n && fit->sloped; i++) {
        fit->sum_u += fit->u[i];
        fit->sum_uu += fit->u[i] * fit->u[i];
        fit->sum_uy += fit->u[i] * fit->y[i];
    }
}

SHOT_WIDE static void raise(double *restrict way, const double *restrict u, size_t n) {
    for (size_t i = 0; i < n; i++)
        way[i] *= u[i];
}

/* ---- one power ---- */

/* Sums about the means: the known level is a sample at u = 0 that weighs as several. */
static bool solve(const power_fit *fit, const way_sums *s, double *c, double *d, double *b) {
    const double n = (double)fit->n + fit->weight, sum_y = fit->sum_y + fit->weight * fit->level;
    const double ww = s->squares - s->way * s->way / n, wy = s->with_y - s->way * sum_y / n;
    *d = 0;
    if (!(ww > nothing * s->squares))
        return false;
    if (fit->sloped) {
        const double uu = fit->sum_uu - fit->sum_u * fit->sum_u / n;
        const double wu = s->with_u - s->way * fit->sum_u / n;
        const double uy = fit->sum_uy - fit->sum_u * sum_y / n, left = ww * uu - wu * wu;
        if (!(left > nothing * ww * uu))
            return false;
        *c = (wy * uu - uy * wu) / left;
        *d = (uy * ww - wy * wu) / left;
    } else {
        *c = wy / ww;
    }
    *b = (sum_y - *c * s->way - *d * fit->sum_u) / n;
    return true;
}

bool power_fit_next(power_fit *fit, double *c, double *squares) {
    const size_t from = fit->first, behind = fit->n - fit->first;
    way_sums sums;
    double b, d;
    fit->power++;
    raise(fit->way + from, fit->u + from, behind);
    sum_way(fit->way + from, fit->y + from, fit->u + from, behind, &sums);
    if (!solve(fit, &sums, c, &d, &b))
        return false;
    const double known = fit->weight * (fit->level - b) * (fit->level - b);
    *squares = known + sum_residuals(fit->y, fit->u, fit->way, fit->n, b, d, *c);
    return true;
}
