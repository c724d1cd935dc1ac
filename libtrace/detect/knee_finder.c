/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knees of one channel: candidates by the narrowest interval over the threshold, each placed by
 * a broken line between its neighbours, and kept if it is a break and no bend. */
#include "detect/knee_finder.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/segmented_line.h>

#include "lack_of_memory.h"
#include "detect/knee_lag.h"
#include "detect/knee_peak.h"
#include "detect/knee_place.h"
#include "detect/knee_scan.h"
#include "detect/knee_sizes.h"
#include "detect/knee_steps.h"
#include "detect/knee_tail.h"
#include "detect/knee_together.h"

const double shot_knee_least = 1.0 / 60;

typedef struct search {
    const shot_channel_view *view;
    const line_sums *sums; /* over it */
    double level;
    double clock; /* step in which the times are written, s */
} search;

/* One break between from and to, placed off the grid; NULL where the samples do not allow it. */
static shot_status fit(const search *self, double from, double to, double guess, double sd,
                       shot_segmented_line **out) {
    const shot_channel_view *view = self->view;
    size_t begin = shot_view_first(view, from),
           end = shot_view_first(view, nextafter(to, INFINITY));
    shot_segmented_line_options options = {.sd = sd,
                                           .corr = view->noise.correlation,
                                           .z = shot_normal_quantile(0.5 + self->level / 2)};
    *out = NULL;
    if (!(end > begin + 5))
        return SHOT_OK;
    const shot_status status = shot_segmented_line_fit(view->t + begin, view->y + begin,
                                                       end - begin, &guess, 1, &options, out);
    return lack_of_memory_only(status);
}

/* Residual variance over that of the noise, and how much of it chance allows (two standard
 * deviations of chi-square, for correlated noise with so many fewer degrees of freedom). */
static double misfit(const shot_segmented_line *line, const shot_noise *noise, double *allowed) {
    double freedom = (double)line->used - 4;
    *allowed = freedom > 0 ? 1 + 2 * sqrt(2 * noise->inflation / freedom) : INFINITY;
    return freedom > 0 ? line->rss / (noise->sd * noise->sd * freedom) : 1;
}

/* Windows agree while the ranges of one standard error around their places have a point in common.
 */
static const double AGREEMENT = 1;

/* The widest window, from `reach` upwards, in which two straight lines still describe the samples:
 * the wider, the surer the place, until the slopes themselves change (Lepski 1991, 'On a problem of
 * adaptive estimation in Gaussian white noise', Theory Probab. Appl. 35:454-466, for the
 * principle). Where they do not even fit the first window, the noise is taken to be as large as the
 * misfit. */
static shot_status widest_fit(const search *self, double from, double to, double guess,
                              double reach, shot_segmented_line **out) {
    const shot_noise *noise = &self->view->noise;
    shot_segmented_line *line;
    *out = NULL;
    double least = -INFINITY, most = INFINITY; /* where the narrower windows say that it is */
    for (double h = reach;; h *= sqrt(2)) {
        double low = fmax(from, guess - h), high = fmin(to, guess + h), allowed;
        const shot_status status = fit(self, low, high, guess, noise->sd, &line);
        if (status != SHOT_OK) {
            shot_segmented_line_free(*out);
            *out = NULL;
            return status;
        }
        double found = line ? misfit(line, noise, &allowed) : 0;
        if (line && *out == NULL && found > allowed) {
            shot_segmented_line_free(line);
            return fit(self, low, high, guess, noise->sd * sqrt(found), out);
        }
        if (line) {
            const shot_line_break *one = &line->breaks[0];
            least = fmax(least, one->at - AGREEMENT * one->se);
            most = fmin(most, one->at + AGREEMENT * one->se);
            if (*out && (found > allowed || least > most)) {
                shot_segmented_line_free(line);
                return SHOT_OK;
            }
            shot_segmented_line_free(*out);
            *out = line;
        }
        if (low == from && high == to)
            return SHOT_OK;
    }
}

/* Put the knee behind the `count` that are placed, if the samples allow one. */
static shot_status place(const search *self, double from, double to, const shot_knee_place *knee,
                         shot_knee *knees, size_t *count) {
    const shot_channel_view *view = self->view;
    double guess = view->t[knee->at];
    shot_segmented_line *line;
    SHOT_TRY(widest_fit(self, from, to, guess, knee->reach, &line));
    if (line == NULL)
        return SHOT_OK;
    const shot_line_break *one = &line->breaks[0];
    double half = shot_normal_quantile(0.5 + self->level / 2) * one->change_se;
    const shot_knee_hint hint = {from, to, one->at, knee->reach, knee->scale};
    shot_knee_range range = {one->at, one->low, one->high};
    shot_knee_locate(view, &hint, self->level, &range);
    const double peak =
        shot_knee_peak(view, self->sums, one->at, knee->scale, one->change, self->level);
    /* The exact break is the place of a sharp knee, which the log may tell sharply; the median of
     * all lags that of one that lags.  Which it is nobody knows: the place is halfway.  The range
     * holds both, and that of the greatest change where the curve is none of these.  Times are
     * rounded to the steps of their clock. */
    knees[(*count)++] =
        (shot_knee){.at = (one->at + range.at) / 2,
                    .low = fmin(range.low, fmin(one->at, peak)) - 0.5 * self->clock,
                    .high = fmax(range.high, fmax(one->at, peak)) + 0.5 * self->clock,
                    .level_here = one->value,
                    .before = line->pieces[0].slope,
                    .after = line->pieces[1].slope,
                    .change_low = one->change - half,
                    .change_high = one->change + half};
    shot_segmented_line_free(line);
    return SHOT_OK;
}

static double range_of(const shot_channel_view *view) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < view->n; i++) {
        low = fmin(low, view->y[i]);
        high = fmax(high, view->y[i]);
    }
    return high - low;
}

static bool is_even(const shot_channel_view *view) {
    double step = (view->t[view->n - 1] - view->t[0]) / (double)(view->n - 1);
    for (size_t i = 1; i < view->n; i++)
        if (fabs(view->t[i] - view->t[i - 1] - step) > 1e-6 * step)
            return false;
    return true;
}

/* The largest of 0.1, 0.01 and 0.001 s of which all times are multiples, 0 if none is; 0 also for
 * an even grid, whose times are as good as they look. */
static double clock_step(const shot_channel_view *view) {
    if (is_even(view))
        return 0;
    for (int places = 10; places <= 1000; places *= 10) {
        size_t i = 0;
        while (i < view->n && fabs(view->t[i] * places - round(view->t[i] * places)) < 1e-6)
            i++;
        if (i == view->n)
            return 1.0 / places;
    }
    return 0;
}

/* Place each knee between its neighbours. */
static shot_status place_all(const search *self, const shot_knee_place *places, size_t count,
                             shot_knee *out, size_t *kept) {
    const double *t = self->view->t;
    *kept = 0;
    for (size_t i = 0; i < count; i++) {
        double from = i > 0 ? t[places[i - 1].at] : t[0];
        double to = i + 1 < count ? t[places[i + 1].at] : t[self->view->n - 1];
        SHOT_TRY(place(self, from, to, &places[i], out, kept));
    }
    return SHOT_OK;
}

/* A knee is the instant of greatest change between the slopes over SHOT_KNEE_SHARP before and
 * behind, and there is one of a sign within SHOT_KNEE_APART.  As those slopes take part of a knee
 * that is nearer than SHOT_KNEE_SHARP, a greater one hides smaller ones of its sign up to both
 * together away, down to what is left of its own change at SHOT_KNEE_APART from them. */
static bool hides(const shot_knee *one, const shot_knee *other) {
    const double greater = one->after - one->before, change = other->after - other->before;
    const double distance = fabs(one->at - other->at);
    const double share =
        distance < SHOT_KNEE_APART ? 1 : 1 - (distance - SHOT_KNEE_APART) / SHOT_KNEE_SHARP;
    return greater * change > 0 && fabs(change) < share * fabs(greater);
}

/* Does a knee hide number i?  Those that are kept stand before, those to come behind it. */
static bool is_hidden(const shot_knee *knees, size_t kept, size_t i, size_t count) {
    for (size_t k = kept; k-- > 0 && knees[i].at - knees[k].at < SHOT_KNEE_APART + SHOT_KNEE_SHARP;)
        if (hides(&knees[k], &knees[i]))
            return true;
    for (size_t k = i + 1;
         k < count && knees[k].at - knees[i].at < SHOT_KNEE_APART + SHOT_KNEE_SHARP; k++)
        if (hides(&knees[k], &knees[i]))
            return true;
    return false;
}

static size_t drop_hidden(shot_knee *knees, size_t count) {
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (!is_hidden(knees, kept, i, count))
            knees[kept++] = knees[i];
    return kept;
}

bool shot_knee_squares_hold(const shot_channel_view *view) {
    double most = 0;
    for (size_t i = 0; i < view->n; i++)
        most = fmax(most, fabs(view->y[i]));
    return most == 0 || (most > 1e-60 && most < 1e60);
}

shot_status shot_knees_find(const shot_channel_view *view, double alarm_rate, double level,
                            shot_knee **out, size_t *count) {
    *out = NULL;
    *count = 0;
    double range = range_of(view);
    if (!(range > 0)) /* a constant channel has no knee */
        return SHOT_OK;
    line_sums *sums;
    SHOT_TRY(line_sums_new(view->t, view->y, NULL, view->n, &sums));
    shot_knee_place *places = NULL;
    size_t found = 0;
    shot_status status =
        shot_knee_scan(view, sums, shot_knee_least * range, alarm_rate, &places, &found);
    if (status == SHOT_OK && !(*out = calloc(found + 2 * view->n, sizeof **out)))
        status = SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status =
            place_all(&(search){view, sums, level, clock_step(view)}, places, found, *out, count);
    if (status == SHOT_OK)
        status = shot_knee_steps(view, sums, shot_knee_least * range, alarm_rate, *out, count);
    if (status == SHOT_OK) {
        shot_knees_together(view, level, *out, *count);
        *count = drop_hidden(*out, *count);
        status = shot_knees_drop_tails(view, *out, count);
        shot_knees_look_behind_filter(view, *out, *count);
    }
    free(places);
    line_sums_free(sums);
    return status;
}
