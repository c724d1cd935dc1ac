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

static const double lag = 0.25;    /* of the half-width */
static const double BY_CHANCE = 2; /* standard deviations: a scale is no other than the next */
static const double TWO_PI = 6.283185307179586;
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

/* The SD of the difference of two estimates of one scale, by the lower quartile and by the median
 * of |c|, relative to the scale, over `widths` half-widths in which samples lie `spacing`
 * half-widths apart.  It follows from the correlation of c in 1/f noise by Mehler's expansion of
 * the normal law of two; this is within 4 % of it for spacings up to a third. */
static double chance_apart(double widths, double spacing) {
    return sqrt(TWO_PI * (0.032 + 0.8 * spacing * spacing) / widths);
}

/* Two estimates of the scale of the changes, relative to white noise. */
typedef struct scales {
    double middle, low; /* by their median, and by their lower quartile */
    double chance;      /* SD of what sets these apart, relative to them */
} scales;

static scales scales_of(const double *score, size_t n, double spacing, double *work) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (score[i] > 0)
            work[count++] = score[i];
    if (count == 0)
        return (scales){0};
    return (scales){.middle = SHOT_MAD_TO_SD * shot_median(work, count),
                    .low = lower_quartile(work, count) / shot_normal_quantile(0.5 + 0.25 / 2),
                    .chance = chance_apart((double)count * spacing, spacing)};
}

/* Where knees follow each other the median is theirs, so the smaller counts; in noise alone the
 * smaller of two is too small, in the mean by their difference over sqrt(2 pi) (Clark 1961, 'The
 * greatest of a finite set of random variables', Oper. Res. 9:145-162, from memory). */
static double smaller_of(const scales *self) {
    return fmin(self->low, self->middle) * (1 + self->chance / sqrt(TWO_PI));
}

double shot_knee_restlessness(const double *x, const double *change, const double *score, size_t n,
                              double reach, double *work) {
    const double spacing = (x[n - 1] - x[0]) / (double)(n - 1);
    const size_t apart = (size_t)fmax(1, round(lag * reach / spacing));
    const double at = (double)apart * spacing / reach;
    const double expected = sqrt(fmax(0.05, 1.5 - 2 * correlation(at) + 0.5 * correlation(2 * at)));
    const scales both = scales_of(score, n, spacing / reach, work);
    if (both.middle == 0)
        return 0;
    const double usual = smaller_of(&both);
    const double rough = roughness(change, score, n, apart, expected, work);
    const double other = fmin(both.middle, rough);
    return other > usual * (1 + BY_CHANCE * both.chance) ? other : usual;
}

/* ---- at all widths ---- */

/* Bells half an octave apart have a correlation of 0.59, and what they tell of the noise that of
 * its square, 0.35: of all widths half are news. */
static const double news = 0.5;
enum { ROUNDS = 4 }; /* weights and line, in turn: they settle at once */

/* Sums of a weighted straight line of squares of the restlessness over the width. */
typedef struct line_of_squares {
    double w, x, xx, y, xy;
    double white, slope; /* the line */
} line_of_squares;

static void weigh(line_of_squares *self, const shot_knee_rest *widths, size_t count) {
    self->w = self->x = self->xx = self->y = self->xy = 0;
    for (size_t k = 0; k < count; k++) {
        const shot_knee_rest *one = &widths[k];
        if (!(one->times > 0))
            continue;
        const double square = one->times * one->times;
        const double w = one->freedom / 2 / pow(self->white + self->slope * one->reach, 2);
        self->w += w;
        self->x += w * one->reach;
        self->xx += w * one->reach * one->reach;
        self->y += w * square;
        self->xy += w * square * one->reach;
    }
}

/* The slope where the white part is known. */
static void set_slope(line_of_squares *self, double white) {
    self->white = white;
    self->slope = self->xx > 0 ? fmax(0, (self->xy - white * self->x) / self->xx) : 0;
}

/* What is known of the white part beforehand, 0 to 1, is worth as much as a measurement of that
 * variance: that of the uniform law. */
static const double ANY_PART = 1.0 / 12;

/* The best line with a white part of 0 to 1 and no negative slope; the variance of its value at
 * `reach`. */
static double fit_line(line_of_squares *self, double reach) {
    const double det = self->w * self->xx - self->x * self->x;
    if (!(det > 1e-9 * self->w * self->xx)) {
        set_slope(self, 1);
        return reach * reach / self->xx;
    }
    self->white = (self->xx * self->y - self->x * self->xy) / det;
    self->slope = (self->w * self->xy - self->x * self->y) / det;
    if (!(self->white >= 0 && self->white <= 1 && self->slope >= 0)) {
        set_slope(self, self->slope < 0 ? 1 : fmin(1, fmax(0, self->white)));
        return reach * reach / self->xx;
    }
    const double w = self->w + 1 / ANY_PART;
    return (self->xx - 2 * reach * self->x + reach * reach * w) /
           (w * self->xx - self->x * self->x);
}

/* 1/f noise has the same variance in each octave.  So the change of slope times the width has the
 * same variance of 1/f noise at every width, and of white noise one that falls with it: the square
 * of the restlessness is white + slope * reach, the white part no more than 1.  Each width tells it
 * with the variance of a scale that is known with so many degrees of freedom; the line through all
 * is as good as a scale with `freedom` of them at the last width. */
shot_knee_rest shot_knee_restlessness_of_all(const shot_knee_rest *widths, size_t count) {
    const double reach = widths[count - 1].reach;
    line_of_squares line = {.white = 1};
    double variance = INFINITY;
    for (int round = 0; round < ROUNDS; round++) {
        weigh(&line, widths, count);
        if (!(line.w > 0))
            return (shot_knee_rest){reach, 1, 0};
        variance = fit_line(&line, reach);
    }
    const double square = line.white + line.slope * reach;
    return (shot_knee_rest){reach, sqrt(square), news * 2 * square * square / variance};
}
