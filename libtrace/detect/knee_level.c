/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The steps of the best description of a channel by constant levels. */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/level_change.h>

#include "detect/knee_finder.h"
#include "detect/knee_residual.h"

enum { LEAST_SAMPLES = 2 }; /* on each level: a lone sample is a spike */

/* A step at any of n places: the sum of their chances (Bonferroni), where that asks for more than
 * the usual price. */
static double price(size_t n, double long_run, double alarm_rate) {
    const double u = shot_normal_quantile(1 - alarm_rate / (2 * (double)n));
    return fmax(shot_levels_penalty(n, long_run), long_run * long_run * u * u);
}

/* The time between the last sample before a place and the one at it. */
static double time_at(const shot_channel_view *view, double place) {
    const double last = (double)view->n - 1;
    const size_t i = (size_t)fmin(fmax(place, 1), last);
    return (view->t[i - 1] + view->t[i]) / 2;
}

static size_t samples_on(const shot_levels *levels, size_t j) {
    const size_t first = j > 0 ? levels->first[j - 1] : 0;
    return (j < levels->count ? levels->first[j] : levels->used) - first;
}

static shot_status knee_of(const shot_channel_view *view, const shot_noise *noise,
                           const shot_levels *levels, size_t j, double level, shot_knee *out) {
    const double before = levels->mean[j], after = levels->mean[j + 1], change = after - before;
    const double weight = 1 / (double)samples_on(levels, j) + 1 / (double)samples_on(levels, j + 1);
    const double half =
        shot_normal_quantile(0.5 + level / 2) * noise->sd * sqrt(noise->inflation * weight);
    double low, high;
    SHOT_TRY(
        shot_levels_interval(levels, view->y, view->n, j, level, noise->inflation, &low, &high));
    *out = (shot_knee){.at = time_at(view, (double)levels->first[j]),
                       .low = time_at(view, low),
                       .high = time_at(view, high),
                       .level_here = (before + after) / 2,
                       .before = before,
                       .after = after,
                       .change_low = change - half,
                       .change_high = change + half};
    return SHOT_OK;
}

static shot_status describe(const shot_channel_view *view, const shot_noise *noise,
                            double alarm_rate, shot_levels **out) {
    const double long_run = sqrt(knee_long_run_variance(noise));
    return shot_levels_find(view->y, view->n, price(view->n, long_run, alarm_rate), LEAST_SAMPLES,
                            out);
}

/* The noise as the description leaves it. */
static shot_status noise_left(const shot_channel_view *view, const shot_levels *levels,
                              shot_noise *out) {
    double *residual = malloc(view->n * sizeof *residual);
    if (residual == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0, j = 0; i < view->n; i++) {
        j += j < levels->count && i == levels->first[j];
        residual[i] = view->y[i] - levels->mean[j];
    }
    *out = knee_residual_noise(&view->noise, residual, view->n, levels->count + 1, 1);
    free(residual);
    return SHOT_OK;
}

/* Once with the noise that neighbours tell, and where that proves too small again. */
static shot_status describe_twice(const shot_channel_view *view, double alarm_rate,
                                  shot_noise *noise, shot_levels **out) {
    shot_noise left;
    *noise = view->noise;
    SHOT_TRY(describe(view, noise, alarm_rate, out));
    shot_status status = view->processed ? SHOT_OK : noise_left(view, *out, &left);
    if (status == SHOT_OK && !view->processed && knee_residual_shows_more(noise, &left, view->n)) {
        *noise = left;
        shot_levels_free(*out);
        status = describe(view, noise, alarm_rate, out);
    }
    if (status != SHOT_OK) {
        shot_levels_free(*out);
        *out = NULL;
    }
    return status;
}

shot_status shot_knees_level(const shot_channel_view *view, double alarm_rate, double level,
                             shot_knee **out, size_t *count) {
    *out = NULL;
    *count = 0;
    if (view->n < 2 * LEAST_SAMPLES || !(view->noise.sd > 0)) /* too short, or constant */
        return SHOT_OK;
    shot_levels *levels;
    shot_noise noise;
    SHOT_TRY(describe_twice(view, alarm_rate, &noise, &levels));
    *out = calloc(levels->count + 1, sizeof **out);
    shot_status status = *out ? SHOT_OK : SHOT_ERR_MEMORY;
    for (; *count < levels->count && status == SHOT_OK; ++*count)
        status = knee_of(view, &noise, levels, *count, level, &(*out)[*count]);
    shot_levels_free(levels);
    return status;
}
