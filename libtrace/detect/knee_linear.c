/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knees of the best piecewise-linear description. */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/slope_partition.h>

#include "detect/knee_finder.h"

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

shot_status shot_knees_linear(const shot_channel_view *view, double alarm_rate, double level,
                              shot_knee **out, size_t *count) {
    const shot_noise *noise = &view->noise;
    double long_run = noise->sd * sqrt(noise->inflation);
    *out = NULL;
    *count = 0;
    if (view->n <= 6 || !(long_run > 0)) /* too short for a joint, or constant */
        return SHOT_OK;
    shot_slope_partition_options options = {
        .penalty = shot_slope_partition_penalty(view->n, long_run, alarm_rate)};
    shot_segmented_line_options intervals = {
        .sd = noise->sd, .corr = noise->correlation, .z = shot_normal_quantile(0.5 + level / 2)};
    shot_segmented_line *line;
    SHOT_TRY(shot_slope_partition_fit(view->t, view->y, view->n, &options, &intervals, &line));
    *out = calloc(line->count + 1, sizeof **out);
    for (size_t i = 0; *out != NULL && i < line->count; i++)
        (*out)[(*count)++] = knee_of(line, i, intervals.z);
    shot_segmented_line_free(line);
    return *out ? SHOT_OK : SHOT_ERR_MEMORY;
}
