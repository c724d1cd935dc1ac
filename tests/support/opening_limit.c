/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What could be seen of an opening at all. */
#include "support/opening_limit.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>

#include "support/findings_ideal.h"

static const double beside = 5;      /* s on either side in which the trend is a polynomial */
static const double threshold = 4.4; /* standard errors: 1 % a shot over some hundred places */

typedef struct residual {
    double *t, *y; /* [n] */
    size_t n;
} residual;

/* The squared length of what polynomials up to `degree` leave of y. */
static double left_of(const residual *of, int degree) {
    const size_t columns = (size_t)degree + 1;
    double *powers = calloc(columns * of->n, sizeof *powers), *x = calloc(columns, sizeof *x);
    double *work = calloc(shot_least_squares_workspace(of->n, columns), sizeof *work);
    shot_least_squares fit;
    if (powers == NULL || x == NULL || work == NULL)
        abort();
    for (size_t k = 0; k < columns; k++)
        for (size_t i = 0; i < of->n; i++)
            powers[k * of->n + i] = pow(of->t[i], (double)k);
    if (shot_least_squares_fit(powers, of->y, of->n, columns, work, x, NULL, &fit) != SHOT_OK)
        abort();
    free(powers);
    free(x);
    free(work);
    return fit.sum_of_squares;
}

/* Flow that the opening alone let through, at `t` of the program. */
static double effect_at(const shot_brew *with, const shot_brew *without, double t) {
    shot_moment a = shot_brew_at(with, t), b = shot_brew_at(without, t);
    return b.resistance > 0 ? a.puck / a.resistance - a.puck / b.resistance : 0;
}

static double effect_until(const shot_brew *with, const shot_brew *without, double from, double t) {
    double sum = 0;
    for (double at = from; at < t; at += SHOT_BREW_STEP)
        sum += SHOT_BREW_STEP * effect_at(with, without, at);
    return sum;
}

/* d of one channel of the log. */
static double ratio_of(const shot_synth *shot, const shot_brew *without, double at, double from,
                       double until, shot_sensor_kind kind, int degree) {
    const double *time = shot->log->column[0], delay = shot->log->scale_lag;
    const double *logged = shot_log_column(shot->log, shot_sensor_name(kind));
    bool scale = kind == SHOT_SENSOR_WEIGHT;
    residual of = {calloc(shot->log->rows, sizeof(double)), calloc(shot->log->rows, sizeof(double)),
                   0};
    double begun = shot->logger.lead + shot->logger.origin, late = scale && delay > 0 ? delay : 0;
    for (size_t i = 0; logged != NULL && i < shot->log->rows; i++) {
        double t = time[i] - begun - late;
        if (isnan(logged[i]) || fabs(t - at) > beside || t > shot->brew->pump_off || t < from ||
            t + late > until)
            continue;
        of.t[of.n] = t - at;
        of.y[of.n++] = scale    ? effect_until(shot->brew, without, at, t)
                       : t > at ? effect_at(shot->brew, without, t)
                                : 0;
    }
    double noise = findings_ideal_noise(&shot->logger, kind);
    size_t fitted = (size_t)degree + (scale ? 2 : 1); /* a scale shows the integral */
    double d = of.n > fitted ? sqrt(left_of(&of, degree + scale)) / noise : 0;
    free(of.t);
    free(of.y);
    return d;
}

double opening_limit_ratio(const shot_synth *shot, const shot_synth *without, double at,
                           double from, double until, int degree) {
    return hypot(ratio_of(shot, without->brew, at, from, until, SHOT_SENSOR_FLOW, degree),
                 ratio_of(shot, without->brew, at, from, until, SHOT_SENSOR_WEIGHT, degree));
}

double opening_limit_chance(double ratio) {
    return shot_normal_tail(threshold - ratio);
}
