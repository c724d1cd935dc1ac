/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knees of the best piecewise-linear description. */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/slope_partition.h>

#include "detect/knee_finder.h"

static const double MOST = 0.97; /* of a correlation that so short a series can tell */
enum { FEW = 8 };                /* samples on a piece, in the mean, that leave none of the noise */

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

/* ---- the noise ---- */

static double long_run_variance(const shot_noise *noise) {
    return noise->sd * noise->sd * noise->inflation;
}

/* The correlation of the residuals of neighbours, less its bias where straight lines are taken out:
 * it is too small by 2 (1 + 2 r) / m on a line of m samples (Kendall 1954, 'Note on bias in the
 * estimation of autocorrelation', Biometrika 41:403-404, for the principle; from memory). */
static double unbiased(double r, double pieces, double n) {
    return fmin(MOST, fmax(0, (r + 2 * pieces / n) / (1 - 4 * pieces / n)));
}

/* What the description leaves of the samples tells their noise: of a correlation over many samples
 * the differences of neighbours, which tell it else, hold little.  The larger one counts. */
static shot_noise noise_left(const shot_channel_view *view, const shot_segmented_line *line) {
    const double n = (double)view->n, pieces = (double)line->count + 1;
    double squares = 0, products = 0, before = 0;
    shot_noise left = view->noise;
    if (view->processed || !(FEW * pieces < n))
        return left;
    for (size_t i = 0; i < view->n; i++) {
        const double here = view->y[i] - shot_segmented_line_value(line, view->t[i]);
        squares += here * here;
        products += here * before;
        before = here;
    }
    if (!(squares > 0))
        return left;
    left.lag1 = unbiased(products / squares, pieces, n);
    left.inflation = (1 + left.lag1) / (1 - left.lag1);
    left.correlation = left.lag1 > 0 ? -left.spacing / log(left.lag1) : 0;
    left.sd = sqrt(squares / fmax(n / 2, n - 2 * pieces * left.inflation));
    return long_run_variance(&left) > long_run_variance(&view->noise) ? left : view->noise;
}

/* Is the second variance larger than chance makes it?  (Two standard errors of (1 + r) / (1 - r).)
 */
static bool is_clearly_more(const shot_noise *one, const shot_noise *other, size_t n) {
    const double se = 2 / sqrt((double)n * (1 - other->lag1 * other->lag1));
    return long_run_variance(other) > (1 + 2 * se) * long_run_variance(one);
}

/* ---- the description ---- */

static shot_segmented_line_options options_of(const shot_noise *noise, double z) {
    return (shot_segmented_line_options){.sd = noise->sd, .corr = noise->correlation, .z = z};
}

static shot_status describe(const shot_channel_view *view, const shot_noise *noise,
                            double alarm_rate, double z, shot_segmented_line **out) {
    const double long_run = sqrt(long_run_variance(noise));
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
    const shot_noise left = noise_left(view, *out);
    shot_status status = SHOT_OK;
    if (is_clearly_more(&view->noise, &left, view->n)) {
        shot_segmented_line_free(*out);
        status = describe(view, &left, alarm_rate, z, out);
    } else if (long_run_variance(&left) > long_run_variance(&view->noise)) {
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
