/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A counter of the water as detectors look at it. */
#include "detect/counted_water.h"

#include <math.h>
#include <stdlib.h>

#include "puck/water_counter.h"

enum { FEWEST = 5 };
static const double hole = 3; /* rows in which a count may have come at any time: it tells little */

/* Rows as detectors look at any channel: what a filter did to it, and how the rows come. */
static shot_status take_counts(const shot_channel_view *rows, const shot_counted *counted,
                               shot_channel_view *out) {
    *out = *rows;
    out->t = malloc((counted->counts + 1) * sizeof *out->t);
    out->y = malloc((counted->counts + 1) * sizeof *out->y);
    if (out->t == NULL || out->y == NULL)
        return SHOT_ERR_MEMORY;
    out->t[0] = counted->t[0];
    out->y[0] = counted->volume[0];
    out->n = 1;
    for (size_t k = 0; k < counted->counts; k++) {
        if (counted->count_t[k] - counted->silent[k] > hole * rows->noise.spacing)
            continue;
        out->t[out->n] = counted->count_t[k];
        out->y[out->n++] = counted->count[k];
    }
    if (out->n < FEWEST)
        return SHOT_ERR_SINGULAR;
    out->step = counted->step;
    out->rows = rows->noise.spacing;
    out->noise =
        (shot_noise){.sd = counted->volume_sd, .inflation = 1, .spacing = counted->spacing};
    return SHOT_OK;
}

/* The noise of the flow, by how counts fall between rows.  Neighbours share a count, so that their
 * errors are opposite: those of differences of white noise, whose correlation is -1/2. */
static shot_noise flow_noise(const shot_counted *counted) {
    return (shot_noise){
        .sd = counted->flow_sd, .lag1 = -0.5, .inflation = 1. / 3, .spacing = counted->spacing};
}

static shot_status take_flow(const shot_channel_view *water, const shot_counted *counted,
                             shot_channel_view *out) {
    const size_t n = counted->n;
    *out = (shot_channel_view){.processed = water->processed};
    out->t = malloc(n * sizeof *out->t);
    out->y = malloc(n * sizeof *out->y);
    if (out->t == NULL || out->y == NULL)
        return SHOT_ERR_MEMORY;
    shot_counted_volumes(counted, out->y);
    for (size_t i = 0; i + 1 < n; i++) {
        out->t[i] = (counted->t[i] + counted->t[i + 1]) / 2;
        out->y[i] = (out->y[i + 1] - out->y[i]) / (counted->t[i + 1] - counted->t[i]);
    }
    out->n = n - 1;
    out->noise = flow_noise(counted);
    return SHOT_OK;
}

shot_status shot_counted_views(const shot_table *shot, shot_channel_view *water,
                               shot_channel_view *flow) {
    shot_counted counted = {0};
    shot_channel_view rows;
    *water = *flow = (shot_channel_view){0};
    shot_status status = shot_channel_view_new(shot, "water", &rows);
    if (status == SHOT_OK)
        status = shot_counted_new(rows.t, rows.y, rows.n, &counted);
    if (status == SHOT_OK)
        status = take_counts(&rows, &counted, water);
    if (status == SHOT_OK)
        status = take_flow(water, &counted, flow);
    shot_counted_free(&counted);
    shot_channel_view_free(&rows);
    if (status != SHOT_OK) {
        shot_channel_view_free(water);
        shot_channel_view_free(flow);
    }
    return status;
}

/* A flow that grows evenly from nothing brings a volume that goes with the square of the time: how
 * long its first count took, by when count k came and a later one; a row may hold them apart by a
 * half of it more. */
static double first_count(const shot_channel_view *water, size_t k, size_t later) {
    const double step = fmax(water->step, 1e-6), before = water->y[k - 1];
    const double apart = water->t[later] - water->t[k];
    const double grown =
        sqrt((water->y[later] - before) / step) - sqrt((water->y[k] - before) / step);
    return (apart + fmin(apart, water->rows) / 2) / grown;
}

shot_instant shot_counted_onset(const shot_channel_view *water, double about) {
    size_t k = shot_view_first(water, about - water->rows);
    k = k < 1 ? 1 : k + 2 < water->n ? k : water->n - 3;
    const double counts = fmax(1, (water->y[k] - water->y[k - 1]) / fmax(water->step, 1e-6));
    const double high = water->t[k] + water->rows / counts / 2;
    const double before =
        high - water->rows - fmax(first_count(water, k, k + 1), first_count(water, k, k + 2));
    const double low = k > 1 ? fmax(before, water->t[k - 1]) : before;
    return (shot_instant){(low + high) / 2, low, high};
}
