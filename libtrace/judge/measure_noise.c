/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far noise and the steps of a sensor's figures may move a measure. */
#include "judge/measure_parts.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/normal.h>
#include <shottrace/signal/resolution.h>
#include <shottrace/trace/noise_line.h>

#include "signal/pi.h"

shot_status shot_view_noise(const shot_view *view, const char *channel, shot_noise *noise) {
    const double *values = shot_table_column(view->shot, channel);
    shot_noise_line line;
    *noise = (shot_noise){.sd = NAN};
    if (values == NULL)
        return SHOT_OK;
    double *work = malloc(shot_noise_workspace(view->rows) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    if (shot_noise_estimate(view->time, values, view->rows, shot_resolution(values, view->rows),
                            work, noise) != SHOT_OK)
        noise->sd = NAN;
    free(work);
    if (shot_noise_line_find(&view->shot->head, channel, &line))
        noise->sd = fmax(noise->sd, line.sd);
    return SHOT_OK;
}

double shot_rounding_half(double step, double scatter) {
    if (!(step > 0))
        return 0;
    const double noise = fmax(0, scatter * scatter / (step * step) - 1.0 / 12);
    return step / 2 * exp(-2 * SHOT_PI * SHOT_PI * noise);
}

double shot_view_rounding(const shot_view *view, const char *channel,
                          const shot_straight_line *line, double length) {
    const double *values = shot_table_column(view->shot, channel);
    const double step = values != NULL ? shot_resolution(values, view->rows) : 0;
    const double steps = step > 0 ? fabs(line->slope) * length / step : 0;
    return shot_rounding_half(step, line->sd) / fmax(1, steps);
}

/* The variance of a volume by what the flow may have done between the samples of it. */
static double variance_between_samples(const shot_view *view, double noise, double from,
                                       double to) {
    const double *flow = view->water;
    double sum = 0;
    size_t last = SIZE_MAX;
    for (size_t i = 0; flow != NULL && i < view->rows; i++) {
        if (isnan(flow[i]))
            continue;
        if (last != SIZE_MAX && view->time[i] > from && view->time[last] < to) {
            const double spacing = fmin(view->time[i], to) - fmax(view->time[last], from);
            const double half = fmax(0, fabs(flow[i] - flow[last]) - noise) * spacing / 2;
            sum += half * half / 3;
        }
        last = i;
    }
    return sum;
}

/* A count may have all but come at either end: a volume is off by as much as one, to either side
 * (JCGM 100:2008, 4.3.7). */
static double counted_half(const shot_view *view) {
    return shot_resolution(view->counter, view->rows);
}

shot_status shot_view_water_half(const shot_view *view, double from, double to, double *half) {
    const double k = shot_normal_quantile(0.5 + SHOT_MEASURE_LEVEL / 2);
    shot_noise noise;
    *half = 0;
    if (view->counter != NULL) {
        *half = counted_half(view);
        return SHOT_OK;
    }
    SHOT_TRY(shot_view_noise(view, "flow", &noise));
    if (!(to > from))
        return SHOT_OK;
    const bool known = isfinite(noise.sd);
    const double by_noise =
        known ? noise.sd * noise.sd * noise.inflation * noise.spacing * (to - from) : 0;
    const double of_two = known ? k * noise.sd * sqrt(2) : 0;
    *half = k * sqrt(by_noise + variance_between_samples(view, of_two, from, to));
    return SHOT_OK;
}
