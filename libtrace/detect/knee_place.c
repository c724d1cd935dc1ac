/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The place of a knee of unknown sharpness.
 *
 * No machine breaks its slope in an instant: what follows a cause lags behind it.  So near a knee
 * the channel is
 *
 *     a + b t + c g(t - start),      g(u) = u - lag (1 - exp(-u / lag)) for u > 0, else 0,
 *
 * a ramp with a lag of first order, or its mirror image in time; without lag it is the exact break.
 * Every place is held equally likely, a lag the less the longer it is, down to nothing at `scale`,
 * the time over which the slopes are taken.  With a, b and c at their best the sum of squares S
 * leaves the place the distribution
 *
 *     p(place) ~ sum over lags of (1 - |lag| / scale) exp(-S(place, lag) / (2 v))
 *
 * (Smith 1975, 'A Bayesian approach to inference about a change-point in a sequence of random
 * variables', Biometrika 62:407-416, for the principle).  v is the long-run variance of the noise,
 * or of the misfit where that is larger. */
#include "detect/knee_place.h"

#include <math.h>
#include <stdlib.h>

#include "detect/knee_sizes.h"
#include "detect/place_grid.h"

/* Windows agree while the middle parts of their ranges have a point in common. */
static const double AGREEMENT = 0.5;
/* Logarithm of a likelihood, relative to the best, that no longer counts. */
static const double NOTHING = 12;

enum { LAGS = 5 };       /* either way, beside none */
enum { STEPS = 32 };     /* of a grid of places */
enum { GROUPS = 128 };   /* at most: neighbours are taken together where samples are more */
enum { PARAMETERS = 5 }; /* a, b, c, start, lag */

/* The samples of a window, less the straight line through them. */
typedef struct window {
    double t[GROUPS], y[GROUPS];
    size_t n;
    double each;         /* samples in a group */
    double squares, stt; /* of y, and of t */
    double spacing;      /* s between samples */
} window;

/* ---- a window ---- */

static void take_groups(window *self, const double *t, const double *y, size_t n) {
    const size_t each = (n + GROUPS - 1) / GROUPS;
    self->each = (double)each;
    self->n = n / each;
    for (size_t i = 0; i < self->n * each; i++) {
        self->t[i / each] += t[i] / self->each;
        self->y[i / each] += y[i] / self->each;
    }
}

static double mean_of(const double *x, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    return sum / (double)n;
}

/* Times stay as they are: places are told in them. */
static void take_line_out(window *self) {
    const double mean_t = mean_of(self->t, self->n), mean_y = mean_of(self->y, self->n);
    double sty = 0;
    for (size_t i = 0; i < self->n; i++) {
        self->stt += (self->t[i] - mean_t) * (self->t[i] - mean_t);
        sty += (self->t[i] - mean_t) * (self->y[i] - mean_y);
    }
    for (size_t i = 0; i < self->n; i++) {
        self->y[i] -= mean_y + sty / self->stt * (self->t[i] - mean_t);
        self->squares += self->y[i] * self->y[i];
    }
}

static bool window_of(const shot_channel_view *view, double from, double to, window *out) {
    const size_t first = shot_view_first(view, from),
                 end = shot_view_first(view, nextafter(to, INFINITY));
    *out = (window){.n = 0};
    if (end <= first + PARAMETERS)
        return false;
    take_groups(out, view->t + first, view->y + first, end - first);
    take_line_out(out);
    out->spacing = (view->t[end - 1] - view->t[first]) / (double)(end - 1 - first);
    return true;
}

/* ---- the knee in it ---- */

static double lagged_ramp(double u, double lag) {
    return u <= 0 ? 0 : lag > 0 ? u + lag * expm1(-u / lag) : u;
}

/* The slopes over h before and after differ most where as much of the change lies in the h before
 * as in the h behind: so long after the start. */
static double centre_of(double lag) {
    const double h = lag <= SHOT_KNEE_SHARP ? SHOT_KNEE_SHARP : SHOT_KNEE_ROUNDED;
    return lag > 0 ? lag * log(2 - exp(-h / lag)) : 0;
}

/* By how much a knee at `place` lessens the sum of squares; lag < 0: the mirror image. */
static double gain(const window *self, double place, double lag) {
    const double sign = lag < 0 ? -1 : 1, length = fabs(lag);
    const double start = place - sign * centre_of(length);
    const double n = (double)self->n, middle = mean_of(self->t, self->n);
    double g = 0, gt = 0, gg = 0, gy = 0;
    for (size_t i = 0; i < self->n; i++) {
        const double value = lagged_ramp(sign * (self->t[i] - start), length);
        g += value;
        gt += value * (self->t[i] - middle);
        gg += value * value;
        gy += value * self->y[i];
    }
    const double own = gg - g * g / n - gt * gt / self->stt; /* what the line leaves of the knee */
    return own > 1e-9 * gg ? self->each * gy * gy / own : 0;
}

static double lag_of(int k, double scale) {
    return scale * k / LAGS;
}

static double best_gain(const window *self, double place, double scale) {
    double best = 0;
    for (int k = -LAGS; k <= LAGS; k++)
        best = fmax(best, gain(self, place, lag_of(k, scale)));
    return best;
}

static double likelihood(const window *self, double place, double scale, double best, double v) {
    double sum = 0;
    for (int k = -LAGS; k <= LAGS; k++)
        sum += (LAGS + 1 - abs(k)) * exp((gain(self, place, lag_of(k, scale)) - best) / (2 * v));
    return sum;
}

/* ---- its distribution ---- */

static place_grid grid_over(double from, double to, double *value) {
    return (place_grid){from, (to - from) / STEPS, value, STEPS + 1};
}

/* The part of a grid of gains that counts, as a grid of its own for the values given. */
static place_grid part_that_counts(const place_grid *gains, double best, double v, double *value) {
    size_t first = STEPS, last = 0;
    for (size_t i = 0; i <= STEPS; i++)
        if (gains->value[i] >= best - 2 * v * NOTHING) {
            first = i < first ? i : first;
            last = i;
        }
    return grid_over(place_grid_at(gains, first > 0 ? first - 1 : 0),
                     place_grid_at(gains, last < STEPS ? last + 1 : STEPS), value);
}

/* Of what lies between two samples they tell no more than the mean; the median of a distribution
 * lies within a standard deviation of its mean (Hotelling & Solomons 1932, 'The limits of a measure
 * of skewness', Ann. Math. Stat. 3:141-142), which is spacing / sqrt(12) where all of the change
 * may be anywhere between them. */
static void widen(shot_knee_range *range, double spacing) {
    const double unseen = spacing / sqrt(12);
    range->low = range->at - hypot(range->at - range->low, unseen);
    range->high = range->at + hypot(range->high - range->at, unseen);
}

/* What the window says of a knee between `from` and `to`; returns how often its misfit holds the
 * variance of the noise. */
static double look(const window *self, const shot_noise *noise, double from, double to,
                   double scale, double level, shot_knee_range *out) {
    const double variance = noise->sd * noise->sd * (self->each > 1 ? noise->inflation : 1);
    const double freedom = fmax(1, (double)self->n - PARAMETERS);
    double gain_at[STEPS + 1], chance_at[STEPS + 1];
    place_grid gains = grid_over(from, to, gain_at);
    double best = 0;
    for (size_t i = 0; i <= STEPS; i++)
        best = fmax(best, gain_at[i] = best_gain(self, place_grid_at(&gains, i), scale));
    const double misfit = (self->each * self->squares - best) / freedom / variance;
    const double v = noise->sd * noise->sd * noise->inflation * fmax(1, misfit);
    place_grid chances = part_that_counts(&gains, best, v, chance_at);
    for (size_t i = 0; i <= STEPS; i++)
        chance_at[i] = likelihood(self, place_grid_at(&chances, i), scale, best, v);
    *out = (shot_knee_range){place_grid_quantile(&chances, 0.5),
                             place_grid_quantile(&chances, 0.5 - level / 2),
                             place_grid_quantile(&chances, 0.5 + level / 2)};
    widen(out, self->spacing);
    return misfit;
}

/* Does chance allow such a misfit?  (One standard deviation of chi-square, with so many fewer
 * degrees of freedom where noise is correlated: in doubt the narrower window counts.) */
static bool fits(const window *self, const shot_noise *noise, double misfit) {
    const double freedom = fmax(1, (double)self->n - PARAMETERS);
    return misfit <= 1 + sqrt(2 * noise->inflation / freedom);
}

/* However well the lines on both sides are known, between two samples the change may be anywhere:
 * the range is no narrower than what holds such a place with the same probability. */
static void allow_for_gap(const shot_channel_view *view, double level, shot_knee_range *range) {
    const size_t i = shot_view_first(view, range->at);
    if (i == 0 || i == view->n)
        return;
    const double half = level / 2 * (view->t[i] - view->t[i - 1]);
    range->low = fmin(range->low, range->at - half);
    range->high = fmax(range->high, range->at + half);
}

/* Windows from the narrowest upwards, each the surer, up to twice the time over which the slopes
 * are taken, as long as the curve describes the samples and the places agree (Lepski 1991, 'On a
 * problem of adaptive estimation in Gaussian white noise', Theory Probab. Appl. 35:454-466). */
static bool widest_look(const shot_channel_view *view, const shot_knee_hint *hint, double level,
                        shot_knee_range *out) {
    const double span = fmax(hint->reach, hint->scale);
    double least = -INFINITY, most = INFINITY;
    bool found = false;
    window here;
    for (double h = hint->reach; !found || h <= 2 * hint->scale; h *= sqrt(2)) {
        const double from = fmax(hint->from, hint->at - h), to = fmin(hint->to, hint->at + h);
        if (window_of(view, from, to, &here)) {
            shot_knee_range one;
            const double misfit = look(&here, &view->noise, fmax(from, hint->at - span),
                                       fmin(to, hint->at + span), hint->scale, level, &one);
            const bool good = fits(&here, &view->noise, misfit);
            least = fmax(least, one.at - AGREEMENT * (one.at - one.low));
            most = fmin(most, one.at + AGREEMENT * (one.high - one.at));
            if (found && (!good || least > most))
                return true;
            *out = one;
            found = true;
            if (!good)
                return true;
        }
        if (from == hint->from && to == hint->to)
            return found;
    }
    return found;
}

bool shot_knee_locate(const shot_channel_view *view, const shot_knee_hint *hint, double level,
                      shot_knee_range *out) {
    if (!widest_look(view, hint, level, out))
        return false;
    allow_for_gap(view, level, out);
    return true;
}
