/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knees of the best piecewise-linear description. */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/slope_partition.h>

#include "detect/knee_finder.h"
#include "detect/knee_residual.h"

static shot_knee knee_of(const shot_segmented_line *line, size_t i, double z) {
    const shot_line_break *one = &line->breaks[i];
    return (shot_knee){.at = one->at,
                       .low = one->low,
                       .high = one->high,
                       .level_here = one->value,
                       .before = line->pieces[i].slope,
                       .after = line->pieces[i + 1].slope,
                       .change_low = one->change - z * one->change_se,
                       .change_high = one->change + z * one->change_se};
}

/* The noise as the description leaves it, where that is the larger one. */
static shot_status noise_left(const shot_channel_view *view, const shot_segmented_line *line,
                              shot_noise *out) {
    *out = view->noise;
    if (view->processed)
        return SHOT_OK;
    double *residual = malloc(view->n * sizeof *residual);
    if (residual == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < view->n; i++)
        residual[i] = view->y[i] - shot_segmented_line_value(line, view->t[i]);
    const shot_noise left =
        knee_residual_noise(&view->noise, residual, view->n, line->count + 1, 2);
    free(residual);
    if (knee_long_run_variance(&left) > knee_long_run_variance(out))
        *out = left;
    return SHOT_OK;
}

static shot_segmented_line_options options_of(const shot_noise *noise, double z) {
    return (shot_segmented_line_options){.sd = noise->sd, .corr = noise->correlation, .z = z};
}

static shot_status describe(const shot_channel_view *view, const shot_noise *noise,
                            double alarm_rate, double z, shot_segmented_line **out) {
    const double long_run = sqrt(knee_long_run_variance(noise));
    const shot_slope_partition_options options = {
        .penalty = shot_slope_partition_penalty(view->n, long_run, alarm_rate)};
    const shot_segmented_line_options intervals = options_of(noise, z);
    return shot_slope_partition_fit(view->t, view->y, view->n, &options, &intervals, out);
}

/* The same breaks with intervals for another noise. */
static shot_status judge_anew(const shot_channel_view *view, const shot_noise *noise, double z,
                              shot_segmented_line **line) {
    const shot_segmented_line_options intervals = options_of(noise, z);
    const size_t count = (*line)->count;
    shot_segmented_line *better;
    double *at = calloc(count + 1, sizeof *at);
    if (at == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        at[i] = (*line)->breaks[i].at;
    const shot_status status =
        shot_segmented_line_fit(view->t, view->y, view->n, at, count, &intervals, &better);
    free(at);
    if (status == SHOT_OK) {
        shot_segmented_line_free(*line);
        *line = better;
    }
    return status;
}

/* Once with the noise that neighbours tell, and where that proves too small again. */
static shot_status describe_twice(const shot_channel_view *view, double alarm_rate, double z,
                                  shot_segmented_line **out) {
    SHOT_TRY(describe(view, &view->noise, alarm_rate, z, out));
    shot_noise left;
    shot_status status = noise_left(view, *out, &left);
    if (status == SHOT_OK && knee_residual_shows_more(&view->noise, &left, view->n)) {
        shot_segmented_line_free(*out);
        status = describe(view, &left, alarm_rate, z, out);
    } else if (status == SHOT_OK &&
               knee_long_run_variance(&left) > knee_long_run_variance(&view->noise)) {
        status = judge_anew(view, &left, z, out);
    }
    if (status != SHOT_OK) {
        shot_segmented_line_free(*out);
        *out = NULL;
    }
    return status;
}

shot_status shot_knees_linear(const shot_channel_view *view, double alarm_rate, double level,
                              shot_knee **out, size_t *count) {
    const double z = shot_normal_quantile(0.5 + level / 2);
    *out = NULL;
    *count = 0;
    if (view->n <= 6 || !(view->noise.sd > 0)) /* too short for a joint, or constant */
        return SHOT_OK;
    shot_segmented_line *line;
    SHOT_TRY(describe_twice(view, alarm_rate, z, &line));
    *out = calloc(line->count + 1, sizeof **out);
    for (size_t i = 0; *out != NULL && i < line->count; i++)
        (*out)[(*count)++] = knee_of(line, i, z);
    shot_segmented_line_free(line);
    return *out ? SHOT_OK : SHOT_ERR_MEMORY;
}
