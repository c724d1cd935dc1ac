/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Onsets of unknown shape. */
#include "detect/power_onset.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>

#include "signal/power_fit.h"

enum { GRID = 240, POWERS = 3 };

static const double bend = 0.12; /* share of the way by which a wrong shape moves the onset */

static const shot_instant nowhere = {NAN, NAN, NAN};

typedef struct fitter {
    const shot_power_rule *rule;
    size_t n;       /* samples */
    size_t columns; /* coefficients */
    double sd, spacing;
    power_fit fit;
} fitter;

/* The misfit of each power at each place of the grid. */
typedef struct profile {
    double step;
    double misfit[POWERS][GRID + 1];
} profile;

/* In noise variances; infinite where a curve goes the wrong way or cannot be fitted. */
static void take_profile(fitter *f, profile *out) {
    double c, squares;
    out->step = (f->rule->latest - f->rule->earliest) / GRID;
    for (size_t g = 0; g <= GRID; g++) {
        power_fit_at(&f->fit, f->rule->earliest + out->step * (double)g);
        for (int p = 0; p < f->rule->powers; p++) {
            const bool fits = power_fit_next(&f->fit, &c, &squares) && f->rule->sign * c > 0;
            out->misfit[p][g] = fits ? squares / (f->sd * f->sd) : INFINITY;
        }
    }
}

/* The least misfit over the powers at each place. */
static void least_of(const profile *all, int powers, double *least) {
    for (size_t g = 0; g <= GRID; g++) {
        least[g] = INFINITY;
        for (int p = 0; p < powers; p++)
            least[g] = fmin(least[g], all->misfit[p][g]);
    }
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

/* Between two samples with nothing on the way many places fit alike, and which of them is best is a
 * matter of rounding: their middle is as good as any. */
static double place_of(const double *least, size_t best) {
    const double alike = least[best] + 1e-6 * fmax(1, least[best]);
    size_t low = best, high = best;
    while (low > 0 && least[low - 1] <= alike)
        low--;
    while (high < GRID && least[high + 1] <= alike)
        high++;
    return low < high ? 0.5 * (double)(low + high) : (double)best + refined(least, best);
}

static size_t best_place(const double *least) {
    size_t best = 0;
    for (size_t g = 0; g <= GRID; g++)
        best = least[g] < least[best] ? g : best;
    return best;
}

static shot_instant summary(const fitter *f, double step, const double *least) {
    const size_t best = best_place(least);
    if (!isfinite(least[best]))
        return nowhere;
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
    double start = f->rule->earliest, at = start + step * place_of(least, best);
    /* The world is none of these curves: that shows within a part of the time between two samples,
     * and of the way that was looked at. */
    double floor_width = hypot(f->spacing / 3, bend * fmax(0, f->rule->to - at));
    return (shot_instant){at, fmin(at - floor_width, start + step * ((double)low - 0.5)),
                          fmax(at + floor_width, start + step * ((double)high + 0.5))};
}

static void fit(fitter *f, shot_instant *alone, shot_instant *any) {
    profile all;
    double least[GRID + 1];
    take_profile(f, &all);
    least_of(&all, f->rule->powers, least);
    *any = summary(f, all.step, least);
    for (int p = 0; alone != NULL && p < f->rule->powers; p++)
        alone[p] = summary(f, all.step, all.misfit[p]);
}

shot_status shot_power_onset_each(const shot_channel_view *view, const shot_power_rule *rule,
                                  shot_instant *alone, shot_instant *any) {
    *any = nowhere;
    for (int p = 0; alone != NULL && p < rule->powers; p++)
        alone[p] = nowhere;
    size_t begin = shot_view_first(view, rule->from),
           end = shot_view_first(view, nextafter(rule->to, INFINITY));
    const bool known = isfinite(rule->level_sd);
    fitter f = {.rule = rule,
                .n = end - begin,
                .columns = rule->sloped ? 3 : 2,
                .spacing = view->noise.spacing,
                .sd = fmax(view->noise.sd * sqrt(view->noise.inflation), 1e-9)};
    if (end < begin + 3 || f.n + known < f.columns + 1 || !(rule->latest > rule->earliest))
        return SHOT_OK;
    double *work = malloc(power_fit_workspace(f.n) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    power_fit_begin(&f.fit, view->t + begin, view->y + begin, f.n, rule->sloped, work);
    if (known)
        power_fit_level(&f.fit, rule->level, f.sd * f.sd / (rule->level_sd * rule->level_sd));
    fit(&f, alone, any);
    free(work);
    return SHOT_OK;
}

shot_status shot_power_onset(const shot_channel_view *view, const shot_power_rule *rule,
                             shot_instant *out) {
    return shot_power_onset_each(view, rule, NULL, out);
}
