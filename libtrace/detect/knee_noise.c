/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How uncertain a change of slope is. */
#include "detect/knee_noise.h"

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/median.h>
#include <shottrace/signal/running_median.h>

#include "signal/scatter.h"

/* ---- where ---- */

static const double near = 1;    /* s either way */
enum { ENOUGH = 15 };            /* samples in that time, or nothing is known of it */
static const double loud = 1.25; /* chance alone makes some places a little louder than others */

static shot_status push_residuals(const shot_channel_view *view, const double *residuals,
                                  shot_running_median *running) {
    for (size_t i = 1; i + 1 < view->n; i++)
        SHOT_TRY(shot_running_median_push(running, view->t[i], residuals[i - 1]));
    shot_running_median_finish(running);
    return SHOT_OK;
}

shot_status shot_knee_loudness(const shot_channel_view *view, double *out, double *work) {
    const size_t n = view->n;
    shot_running_median *running;
    shot_median_at at;
    for (size_t i = 0; i < n; i++)
        out[i] = 1;
    if (near * (double)n < ENOUGH * (view->t[n - 1] - view->t[0]))
        return SHOT_OK;
    SHOT_TRY(shot_running_median_new((shot_reach){near, near, false}, SHOT_MISSING_SKIPPED, false,
                                     &running));
    scatter_residuals(view->t, view->y, n, work);
    shot_status status = push_residuals(view, work, running);
    bool ready = true;
    for (size_t i = 1; status == SHOT_OK && ready; i++) {
        status = shot_running_median_next(running, &at, &ready);
        const double times = SHOT_MAD_TO_SD * at.median / view->noise.sd;
        if (status == SHOT_OK && ready && times > loud)
            out[i] = times;
    }
    shot_running_median_free(running);
    return status;
}

/* ---- at which width ---- */

static const double lag = 0.25; /* of the half-width */
enum { PARTS = 200 };

/* The correlation of the bell's weights of noise, |s| - 1/2 over |s| <= 1, at a lag of x. */
static double correlation(double x) {
    const double width = 2.0 / PARTS;
    double sum = 0;
    for (int i = 0; i < PARTS; i++) {
        const double s = -1 + (i + 0.5) * width;
        sum += s + x < 1 ? (fabs(s) - 0.5) * (fabs(s + x) - 0.5) * width : 0;
    }
    return 6 * sum;
}

/* The median of the half that is not over the median; the order of the values is lost. */
static double lower_quartile(double *values, size_t n) {
    const double middle = shot_median(values, n);
    size_t low = 0;
    for (size_t i = 0; i < n; i++)
        if (values[i] <= middle)
            values[low++] = values[i];
    return shot_median(values, low);
}

/* The scatter of the changes about the mean of those `apart` samples before and behind, relative to
 * what white noise makes of it: a knee is a bell of twice the width, and of it little is left. */
static double roughness(const double *change, const double *score, size_t n, size_t apart,
                        double expected, double *work) {
    size_t count = 0;
    for (size_t i = apart; i + apart < n; i++) {
        if (!(score[i] > 0 && score[i - apart] > 0 && score[i + apart] > 0))
            continue;
        const double se = fabs(change[i]) / score[i];
        work[count++] = fabs(change[i] - 0.5 * (change[i - apart] + change[i + apart])) / se;
    }
    return count > 0 ? SHOT_MAD_TO_SD * shot_median(work, count) / expected : 0;
}

/* The lower quartile of the changes, as a normal law has it, relative to white noise; the median in
 * *middle.  Where knees follow each other the median is theirs. */
static double smallest(const double *score, size_t n, double *work, double *middle) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (score[i] > 0)
            work[count++] = score[i];
    *middle = count > 0 ? SHOT_MAD_TO_SD * shot_median(work, count) : 0;
    return count > 0 ? lower_quartile(work, count) / shot_normal_quantile(0.5 + 0.25 / 2) : 0;
}

double shot_knee_restlessness(const double *x, const double *change, const double *score, size_t n,
                              double reach, double *work) {
    const double spacing = (x[n - 1] - x[0]) / (double)(n - 1);
    const size_t apart = (size_t)fmax(1, round(lag * reach / spacing));
    const double at = (double)apart * spacing / reach;
    const double expected = sqrt(fmax(0.05, 1.5 - 2 * correlation(at) + 0.5 * correlation(2 * at)));
    double middle, low = smallest(score, n, work, &middle);
    if (middle == 0)
        return 0;
    low = fmax(low, roughness(change, score, n, apart, expected, work));
    return fmax(1, fmin(middle, low));
}

/* ---- at all widths ---- */

/* Bells half an octave apart have a correlation of 0.59, and what they tell of the noise that of
 * its square, 0.35: of all widths half are news. */
static const double news = 0.5;
enum { ROUNDS = 4 }; /* weights and slope, in turn: they settle at once */

/* 1/f noise has the same variance in each octave.  So the change of slope times the width has the
 * same variance of 1/f noise at every width, and of white noise one that falls with it: the square
 * of the restlessness is 1 + slope * reach.  Each width tells the slope with the variance of a
 * scale that is known with so many degrees of freedom; their mean weighted by these is as good as
 * a scale with `freedom` of them at the last width. */
shot_knee_rest shot_knee_restlessness_of_all(const shot_knee_rest *widths, size_t count) {
    const double reach = widths[count - 1].reach;
    double slope = 0, weights = 0;
    for (int round = 0; round < ROUNDS; round++) {
        double sum = weights = 0;
        for (size_t k = 0; k < count; k++) {
            const shot_knee_rest *one = &widths[k];
            const double expected = 1 + slope * one->reach;
            const double weight = one->times > 0 ? one->freedom * pow(one->reach / expected, 2) : 0;
            sum += weight * (one->times * one->times - 1) / one->reach;
            weights += weight;
        }
        slope = weights > 0 ? sum / weights : 0;
    }
    const double square = 1 + slope * reach;
    return (shot_knee_rest){reach, sqrt(square), news * weights * pow(square / reach, 2)};
}
