/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Onsets of unknown shape. */
#include "detect/power_onset.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>

enum { GRID = 240 };

static const double bend = 0.12; /* share of the way by which a wrong shape moves the onset */

typedef struct fitter {
    const shot_power_rule *rule;
    const double *t, *y;
    size_t n, rows; /* samples; with the row that states what is known of the level */
    size_t columns;
    double sd, spacing;
    double *a, *b, *work;
} fitter;

static double power_of(double x, int power) {
    double product = x;
    for (int p = 1; p < power; p++)
        product *= x;
    return product;
}

/* Rows are in units of their SD. */
static void fill(fitter *f, double t0, int power) {
    const shot_power_rule *rule = f->rule;
    double w = 1 / f->sd;
    for (size_t i = 0; i < f->n; i++) {
        double u = f->t[i] - t0, way = u > 0 ? u : 0;
        f->a[i] = w;
        f->a[f->rows + i] = w * power_of(way, power);
        if (rule->sloped)
            f->a[2 * f->rows + i] = w * u;
        f->b[i] = w * f->y[i];
    }
    if (f->rows > f->n) {
        for (size_t k = 0; k < f->columns; k++)
            f->a[k * f->rows + f->n] = k == 0 ? 1 / rule->level_sd : 0;
        f->b[f->n] = rule->level / rule->level_sd;
    }
}

/* Sum of squares in noise variances; infinite where it goes the wrong way or cannot be fitted. */
static double misfit(fitter *f, double t0, int power) {
    double x[3];
    shot_least_squares fit;
    fill(f, t0, power);
    if (shot_least_squares_fit(f->a, f->b, f->rows, f->columns, f->work, x, NULL, &fit) != SHOT_OK)
        return INFINITY;
    return f->rule->sign * x[1] > 0 ? fit.sum_of_squares : INFINITY;
}

/* The least misfit over the powers at each place of the grid, and the best place. */
static size_t profile(fitter *f, double step, double *least) {
    size_t best = 0;
    for (size_t g = 0; g <= GRID; g++) {
        least[g] = INFINITY;
        for (int p = f->rule->least > 1 ? f->rule->least : 1; p <= f->rule->powers; p++)
            least[g] = fmin(least[g], misfit(f, f->rule->earliest + step * (double)g, p));
        if (least[g] < least[best])
            best = g;
    }
    return best;
}

/* Between the best place of the grid and its neighbours the misfit is taken as a parabola. */
static double refined(const double *least, size_t best) {
    if (best == 0 || best == GRID || !isfinite(least[best - 1]) || !isfinite(least[best + 1]))
        return 0;
    double curvature = least[best - 1] - 2 * least[best] + least[best + 1];
    return curvature > 0
               ? fmax(-0.5, fmin(0.5, (least[best - 1] - least[best + 1]) / (2 * curvature)))
               : 0;
}

static shot_instant summary(const fitter *f, double step, const double *least, size_t best) {
    double z = shot_normal_quantile(0.975);
    double freedom = fmax(1, (double)f->n - (double)f->columns - 1);
    double limit = least[best] + z * z * fmax(1, least[best] / freedom);
    size_t low = best, high = best;
    for (size_t g = 0; g <= GRID; g++) {
        if (least[g] > limit)
            continue;
        low = g < low ? g : low;
        high = g > high ? g : high;
    }
    double start = f->rule->earliest, at = start + step * ((double)best + refined(least, best));
    /* The world is none of these curves: that shows within a part of the time between two samples,
     * and of the way that was looked at. */
    double floor_width = hypot(f->spacing / 3, bend * fmax(0, f->rule->to - at));
    return (shot_instant){at, fmin(at - floor_width, start + step * ((double)low - 0.5)),
                          fmax(at + floor_width, start + step * ((double)high + 0.5))};
}

static shot_instant fit(fitter *f) {
    double least[GRID + 1], step = (f->rule->latest - f->rule->earliest) / GRID;
    size_t best = profile(f, step, least);
    if (!isfinite(least[best]))
        return (shot_instant){NAN, NAN, NAN};
    return summary(f, step, least, best);
}

shot_instant shot_power_onset(const shot_channel_view *view, const shot_power_rule *rule) {
    shot_instant found = {NAN, NAN, NAN};
    size_t begin = shot_view_first(view, rule->from),
           end = shot_view_first(view, nextafter(rule->to, INFINITY));
    bool known = isfinite(rule->level_sd);
    fitter f = {.rule = rule,
                .t = view->t + begin,
                .y = view->y + begin,
                .n = end - begin,
                .rows = end - begin + known,
                .columns = rule->sloped ? 3 : 2,
                .spacing = view->noise.spacing,
                .sd = fmax(view->noise.sd * sqrt(view->noise.inflation), 1e-9)};
    if (end < begin + 3 || f.rows < f.columns + 1 || !(rule->latest > rule->earliest))
        return found;
    f.a = malloc(f.rows * 4 * sizeof *f.a);
    f.work = malloc(shot_least_squares_workspace(f.rows, f.columns) * sizeof *f.work);
    if (f.a != NULL && f.work != NULL) {
        f.b = f.a + 3 * f.rows;
        found = fit(&f);
    }
    free(f.a);
    free(f.work);
    return found;
}
