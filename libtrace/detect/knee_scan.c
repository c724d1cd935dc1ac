/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Breaks of slope over a ladder of widths, the narrowest first.
 *
 * At each width the change of slope is taken at every sample (signal/hinge.h).  Where it stands out
 * from the noise it is either a break or a bend: of a break, twice the width shows the same change,
 * of a bend twice the change.  What is found at one width limits the windows of the wider ones, so
 * that a small knee beside a great one is judged by its own surroundings.
 *
 * Sources: the narrowest window that suffices, Baranowski, Chen & Fryzlewicz 2019,
 * 'Narrowest-over-threshold detection of multiple change points and change-point-like features',
 * J. R. Stat. Soc. B 81:649-672; edges followed through scales, Witkin 1983, 'Scale-space
 * filtering', IJCAI 8:1019-1022. */
#include "detect/knee_scan.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>

#include "detect/knee_ends.h"
#include "detect/knee_noise.h"
#include "detect/knee_sizes.h"
#include "room.h"
#include "signal/hinge.h"

static const double NARROWEST = 0.125, NEAR = HINGE_BELL * SHOT_KNEE_SHARP,
                    ROUNDED = HINGE_BELL * SHOT_KNEE_ROUNDED, WIDEST = 4; /* s */
static const double STEP = 1.4142135623730951;
static const double GUARD = 0.3; /* s: what a rounded break still does to its neighbourhood */

enum { FLICKERS = 4 };
enum { ENOUGH = 4 };  /* half-widths beside knees */
enum { FEWEST = 8 };  /* places that tell a scale: two in each of so many half-widths */
enum { WIDTHS = 13 }; /* of the ladder, up to twice the widest */

typedef struct scan {
    const shot_channel_view *view;
    const line_sums *sums;
    double sd;                /* of the noise of a sample */
    double least;             /* change of slope */
    double threshold[WIDTHS]; /* in standard errors */
    double restless[WIDTHS];  /* what the shot itself makes of the standard error at each width */
    double own[WIDTHS];       /* the same as that width alone shows it, 0 where it does not */
    double share[WIDTHS];     /* of the samples that tell it */
    size_t seen[WIDTHS];      /* places at which that width shows a change: it needs samples */
    shot_knee_place *found;
    size_t count, room;
    double *score; /* [n] |change| / se at the present width, 0 where there is none */
    double *change;
    double *loud; /* [n] the noise of a sample's surroundings over that of the channel */
    double *work; /* [n] */
} scan;

static size_t rung(double reach) {
    double k = log2(reach / NARROWEST) * 2 + 0.5;
    return k < 0 ? 0 : k < WIDTHS - 1 ? (size_t)k : WIDTHS - 1;
}

/* A change of slope, and the length of the window in which it was seen. */
typedef struct sight {
    double change, se, length;
} sight;

static sight look(const scan *self, size_t i, double low, double high, double reach) {
    const line_sums *sums = self->sums;
    size_t from = line_sums_index(sums, nextafter(low, -INFINITY));
    hinge h = hinge_fit(sums, from, i, line_sums_index(sums, high), sums->x[i]);
    return (sight){h.change, h.se * self->sd * self->loud[i] * self->restless[rung(reach)],
                   high - low};
}

/* The change of slope seen from `reach` on both sides. */
static sight look_around(const scan *self, size_t i, double reach) {
    double x = self->sums->x[i];
    return look(self, i, x - reach, x + reach, reach);
}

/* The same, not beyond the knees found so far: is there a change that these do not explain? */
static sight look_between(const scan *self, size_t i, double reach) {
    const double *x = self->sums->x;
    double low = x[i] - reach, high = x[i] + reach;
    for (size_t k = 0; k < self->count; k++) {
        double knee = x[self->found[k].at], guard = fmin(GUARD, 0.5 * self->found[k].reach);
        if (knee < x[i])
            low = fmax(low, knee + guard);
        else
            high = fmin(high, knee - guard);
    }
    return look(self, i, low, high, reach);
}

/* The changes at all places; the number of those that show one. */
static size_t score_all(scan *self, double reach) {
    size_t seen = 0;
    for (size_t i = 0; i < self->sums->n; i++) {
        sight h = look_around(self, i, reach);
        self->change[i] = h.change;
        self->score[i] = fabs(h.change) / h.se;
        seen += isfinite(h.se);
    }
    return seen;
}

/* Leave out what knees that are known make of the changes; how many places are left that show one.
 */
static size_t leave_knees_out(scan *self, double reach) {
    const double *x = self->sums->x;
    size_t left = 0;
    for (size_t i = 0, k = 0; i < self->sums->n; i++) {
        while (k < self->count && x[self->found[k].at] + reach <= x[i])
            k++;
        if (k < self->count && x[self->found[k].at] - reach < x[i])
            self->score[i] = 0;
        left += self->score[i] > 0;
    }
    return left;
}

/* The standard error of white noise is the least that can be.  Correlated noise, stairs of coarse
 * steps and an unsteady hand make changes of slope of their own at each width: how large they
 * usually are, whatever they come from, tells the log.  They grow with the width relative to white
 * noise, or are taken to.  Where knees are known and enough is left beside them, that tells; else
 * what was taken before.  A width that few places show tells nothing: of an uneven clock some are
 * the only ones with samples so near, and of pulses these may be the very edges. */
static void measure_restlessness(scan *self) {
    const line_sums *sums = self->sums;
    const double span = sums->x[sums->n - 1] - sums->x[0];
    double reach = NARROWEST, most = 1;
    for (size_t k = 0; k < WIDTHS; k++, reach *= STEP) {
        const double before = self->restless[k];
        self->restless[k] = 1;
        self->seen[k] = score_all(self, reach);
        const size_t left = leave_knees_out(self, reach);
        self->share[k] = (double)left / (double)sums->n;
        if (left < FEWEST || (self->count > 0 && self->share[k] * span < ENOUGH * reach)) {
            self->restless[k] = fmax(most, before);
            self->own[k] = 0;
            self->share[k] = 1;
            continue;
        }
        self->own[k] =
            shot_knee_restlessness(sums->x, self->change, self->score, sums->n, reach, self->work);
        self->restless[k] = most = fmax(most, self->own[k]);
    }
}

/* Is place i the strongest of its sign within the reach? */
static bool is_peak(const scan *self, size_t i, double reach) {
    const double *x = self->sums->x;
    double sign = self->change[i] < 0 ? -1 : 1;
    for (size_t k = i; k-- > 0 && x[k] >= x[i] - reach;)
        if (sign * self->change[k] > 0 && self->score[k] >= self->score[i])
            return false;
    for (size_t k = i + 1; k < self->sums->n && x[k] <= x[i] + reach; k++)
        if (sign * self->change[k] > 0 && self->score[k] > self->score[i])
            return false;
    return true;
}

/* Is there a knee of the same sign within the reach? */
static bool is_known(const scan *self, size_t i, double reach) {
    const double *x = self->sums->x;
    for (size_t k = 0; k < self->count; k++)
        if (self->found[k].change * self->change[i] > 0 &&
            fabs(x[self->found[k].at] - x[i]) < fmax(reach, GUARD))
            return true;
    return false;
}

/* Steps in which the channel is written make stairs of a slow slope, and figures near an edge
 * flicker by a step.  Rounding acts like noise once the noise is half a step (Widrow & Kollar 2008,
 * 'Quantization Noise', ch. 4); below, the change must move the value by more than stairs can, and
 * by more than FLICKERS samples at the worst places of the window do: of n samples over 2 h one at
 * the middle or an end weighs at most 12 / (n h) in the change of slope. */
static bool beats_steps(const scan *self, size_t i, double change, double reach) {
    const line_sums *sums = self->sums;
    const double step = self->view->step, x = sums->x[i];
    const size_t n = line_sums_index(sums, x + reach) - line_sums_index(sums, x - reach);
    return self->view->noise.sd >= 0.5 * step ||
           fabs(change) * reach >= fmax(3, 12.0 * FLICKERS / (double)n) * step;
}

/* A change of slope that grows with the width h of the window as h^a has a = 0 for a break and a =
 * 1 for a bend; between the two, a = 1/2 divides (the exponent of regularity: Mallat & Hwang 1992,
 * 'Singularity detection and processing with wavelets', IEEE Trans. Inf. Theory 38:617-643; from
 * memory). */
static bool holds(sight near, sight wide) {
    return near.change / wide.change >= sqrt(near.length / wide.length);
}

/* A bend shows a half, and the limit lies a fifth of the wide change above that: noise lets us tell
 * the two where a fifth is two standard errors.  What stood out at the width of the search, but not
 * here, is told as well: a ripple stands out from close by only. */
static const double TELLS = 0.1;

/* The narrowest h from `nearest` on at which noise lets us tell whether the change at place i holds
 * when the window is narrowed from 2 h to h; 0 if it does not.  What can only be told from ROUNDED
 * on must be as large as a rounded knee.  At `nearest` itself that is what a knee is, whatever
 * stands beside it. Wider windows may hold a knee of the same sign that adds to it; those end
 * there. */
static double holds_from(const scan *self, size_t i, double nearest) {
    for (double h = nearest; h <= WIDEST; h *= STEP) {
        bool alone = h > nearest && is_known(self, i, 2 * h);
        sight near = alone ? look_between(self, i, h) : look_around(self, i, h);
        sight wide = alone ? look_between(self, i, 2 * h) : look_around(self, i, 2 * h);
        if (!(near.se < TELLS * fmax(fabs(wide.change), fabs(self->change[i]))))
            continue;
        double least = h < 0.99 * ROUNDED ? self->least : 2 * self->least;
        return holds(near, wide) && near.change * self->change[i] > 0 && fabs(near.change) >= least
                   ? h
                   : 0;
    }
    return fabs(self->change[i]) >= 2 * self->least ? WIDEST : 0;
}

/* A window in which a break looks rounded must not hold another. */
static bool has_neighbour(const scan *self, size_t i) {
    const double *x = self->sums->x;
    for (size_t k = 0; k < self->count; k++)
        if (fabs(x[self->found[k].at] - x[i]) < ROUNDED)
            return true;
    return false;
}

/* The time over which the slopes beside place i are those of a knee there; 0 if there is none. */
static double knee_scale(const scan *self, size_t i, double reach) {
    double change = fabs(self->change[i]);
    if (self->score[i] < self->threshold[rung(reach)] || change < self->least ||
        !beats_steps(self, i, change, reach) || is_known(self, i, reach) ||
        !is_peak(self, i, reach))
        return 0;
    sight alone = look_between(self, i, reach);
    if (isfinite(alone.se) && (alone.change * self->change[i] < 0 ||
                               fabs(alone.change) < 0.5 * self->threshold[rung(reach)] * alone.se ||
                               fabs(alone.change) < self->least))
        return 0;
    double h = holds_from(self, i, NEAR);
    if (h == 0 && !has_neighbour(self, i))
        h = holds_from(self, i, ROUNDED);
    return fmin(h, ROUNDED) / HINGE_BELL;
}

static shot_status keep(scan *self, size_t i, double reach, double scale) {
    shot_knee_place *more = room_for_more(self->found, self->count, &self->room, 32, sizeof *more);
    if (more == NULL)
        return SHOT_ERR_MEMORY;
    self->found = more;
    size_t k = self->count++;
    for (; k > 0 && self->found[k - 1].at > i; k--)
        self->found[k] = self->found[k - 1];
    self->found[k] = (shot_knee_place){.at = i,
                                       .reach = reach,
                                       .change = self->change[i],
                                       .se = fabs(self->change[i]) / self->score[i],
                                       .scale = scale};
    return SHOT_OK;
}

/* Each knee that is found limits the windows of its neighbours, which may be told then: again until
 * there is no more. */
static shot_status scan_width(scan *self, double reach) {
    size_t before;
    score_all(self, reach);
    do {
        before = self->count;
        for (size_t i = 0; i < self->sums->n; i++) {
            double scale = knee_scale(self, i, reach);
            if (scale > 0)
                SHOT_TRY(keep(self, i, reach, scale));
        }
    } while (self->count > before);
    return SHOT_OK;
}

/* The place of the strongest change of that sign at half-width `reach`, no further than that. */
static size_t strongest_near(const scan *self, size_t i, double reach, double sign, sight *out) {
    const double *x = self->sums->x;
    size_t best = i, from = line_sums_index(self->sums, x[i] - reach);
    *out = (sight){0, INFINITY, 0};
    for (size_t k = from; k < self->sums->n && x[k] <= x[i] + reach; k++) {
        sight h = look_around(self, k, reach);
        if (sign * h.change > sign * out->change) {
            *out = h;
            best = k;
        }
    }
    return best;
}

/* Follow a knee to narrower windows, which see less of the curves beside it, as long as it stands
 * out there with its whole change (Bergholm 1987, 'Edge focusing', IEEE Trans. Pattern Anal. Mach.
 * Intell. 9:726-741).  Five standard errors keep the place within a window of its own.  Where the
 * change itself begins to shrink, the knee is rounded. */
static void focus(const scan *self, shot_knee_place *knee) {
    double whole = fabs(knee->change);
    for (double h = knee->reach / STEP;; h /= STEP) {
        sight near;
        size_t at = strongest_near(self, knee->at, h, knee->change, &near);
        double change = fabs(near.change);
        if (!isfinite(near.se) || change < 5 * near.se)
            return;
        if (change < 0.8 * whole - near.se)
            return;
        whole = fmax(whole, change);
        *knee = (shot_knee_place){at, h, near.change, near.se, knee->scale};
    }
}

/* The score at a half-width h is a random function of the place with the correlation 1 - 1.5 |lag|
 * / h near 0 (of the residual |s| - 1/2 of the hinge on the line, which ends in steps), so that it
 * exceeds u as often as 1.5 u^2 independent values in each h do, or fewer where samples lie d
 * apart: factor exp(-0.583 u sqrt(3 d / h)) (Pickands 1969, Trans. Am. Math. Soc. 145:51-73;
 * Siegmund 1985, 'Sequential Analysis', ch. 10; both from memory).  Never fewer than three in each
 * h. */
static double tests_at(const scan *self, double reach, double u) {
    const line_sums *sums = self->sums;
    double n = (double)sums->n, span = sums->x[sums->n - 1] - sums->x[0];
    double dense = 1.5 * u * u * exp(-0.583 * u * sqrt(3 * span / n / reach));
    return fmin((double)self->seen[rung(reach)], fmax(3, dense) * span / reach);
}

/* A robust estimate of a scale from n values has the freedom of 0.4 n (efficiency 0.37, Hampel
 * 1974).  Of the restlessness a width holds two values in each h. */
static double freedom_at(const scan *self, double reach) {
    const line_sums *sums = self->sums;
    double n = (double)sums->n, span = sums->x[sums->n - 1] - sums->x[0];
    return 0.4 * fmin(n, 2 * span / reach * self->share[rung(reach)]);
}

/* Is the noise white, as far as the restlessness of all widths tells (three standard errors)? */
static bool is_white(const scan *self, size_t widths) {
    double reach = NARROWEST;
    for (size_t k = 0; k < widths; k++, reach *= STEP)
        if (self->restless[k] > 1 + 3 / sqrt(2 * freedom_at(self, reach)))
            return false;
    return true;
}

/* What one width shows agrees with what the widths up to it tell of white and 1/f noise, unless it
 * is larger by so many of its standard errors. */
static const double AGREES = 3;

/* The restlessness at a width, and with how many degrees of freedom the noise is known there: what
 * all widths up to there tell together counts, where that width agrees. */
static double settle(scan *self, size_t k, const shot_knee_rest *rest) {
    const shot_knee_rest together = shot_knee_restlessness_of_all(rest, k + 1);
    const double own = self->own[k], freedom = rest[k].freedom;
    if (own > 0 && own <= together.times * (1 + AGREES / sqrt(2 * freedom)))
        self->restless[k] = fmax(1, together.times);
    else
        self->restless[k] = fmax(self->restless[k], together.times);
    return fmax(freedom, together.freedom);
}

/* Where the noise is white all samples tell it. */
static void set_freedoms(scan *self, size_t widths, double *freedom) {
    const double all = 0.4 * (double)self->sums->n;
    const bool white = is_white(self, widths);
    shot_knee_rest rest[WIDTHS];
    double reach = NARROWEST;
    for (size_t k = 0; k < widths; k++, reach *= STEP) {
        rest[k] = (shot_knee_rest){reach, self->own[k], freedom_at(self, reach)};
        const double known = settle(self, k, rest);
        freedom[k] = white || !(self->restless[k] > 1) ? all : fmin(all, known);
    }
}

/* Of what stands out in noise alone the other tests, of break or bend above all, refuse a quarter
 * and more (docs/knees.md has the figures). */
static const double STANDS_OUT = 4.0 / 3;

/* Each place that tells something new has its share of the alarm rate (Bonferroni).  Noise alone
 * has no knee that is known, and in a search that knows r of them a place has r times its share: of
 * what is found no more than that part is noise then (Benjamini & Hochberg 1995, 'Controlling the
 * false discovery rate', J. R. Stat. Soc. B 57:289-300). */
static void set_thresholds(scan *self, size_t widths, double alarm_rate) {
    const double times = STANDS_OUT * fmax(1, (double)self->count);
    const double either = fmin(0.5, times * alarm_rate) / 2;
    double tests = 1, u = 3, freedom[WIDTHS];
    for (int round = 0; round < 8; round++) {
        double reach = NARROWEST;
        tests = 0;
        for (size_t k = 0; k < widths; k++, reach *= STEP)
            tests += tests_at(self, reach, u);
        u = shot_student_quantile(1 - either / tests, 0.4 * (double)self->sums->n);
    }
    set_freedoms(self, widths, freedom);
    for (size_t k = 0; k < widths; k++)
        self->threshold[k] = shot_student_quantile(1 - either / tests, freedom[k]);
}

/* All widths, with the noise as it is beside the knees that are known. */
static shot_status scan_widths(scan *self, size_t widths, double alarm_rate) {
    shot_status status = SHOT_OK;
    double reach = NARROWEST;
    measure_restlessness(self);
    set_thresholds(self, widths, alarm_rate);
    self->count = 0;
    for (size_t k = 0; k < widths && status == SHOT_OK; k++, reach *= STEP)
        status = scan_width(self, reach);
    return status;
}

/* A first time for the great knees, which are in the noise as it is measured then, and once more
 * with the noise beside them: what is left of a log when its model is taken out tells its noise. */
shot_status shot_knee_scan(const shot_channel_view *view, const line_sums *sums, double least,
                           double alarm_rate, shot_knee_place **out, size_t *count) {
    *out = NULL;
    *count = 0;
    size_t widths = 0;
    double span = sums->x[sums->n - 1] - sums->x[0];
    for (double h = NARROWEST; h <= fmin(WIDEST, span / 2); h *= STEP)
        widths++;
    if (widths == 0)
        return SHOT_OK;
    scan self = {.view = view, .sums = sums, .least = least};
    self.sd = view->noise.sd;
    self.score = malloc(4 * sums->n * sizeof *self.score);
    self.change = self.score + sums->n;
    self.loud = self.change + sums->n;
    self.work = self.loud + sums->n;
    shot_status status =
        self.score ? shot_knee_loudness(view, self.loud, self.work) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = scan_widths(&self, widths, alarm_rate);
    if (status == SHOT_OK && self.count > 0)
        status = scan_widths(&self, widths, alarm_rate);
    self.count = knee_ends_unite(sums->x, self.found, self.count);
    for (size_t k = 0; k < self.count; k++)
        focus(&self, &self.found[k]);
    free(self.score);
    if (status == SHOT_OK) {
        *out = self.found;
        *count = self.count;
    } else {
        free(self.found);
    }
    return status;
}
