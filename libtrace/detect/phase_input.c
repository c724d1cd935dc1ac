/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels and metadata by which phases are told. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/sample_quantile.h>

#include "detect/counted_water.h"
#include "detect/fresh_values.h"
#include "detect/hand_marks.h"
#include "detect/phases.h"
#include "detect/touched_scale.h"
#include "puck/beverage_flow.h"
#include "puck/water_counter.h"
#include "signal/scatter.h"

static bool changes(const shot_channel_view *view) {
    for (size_t i = 1; i < view->n; i++)
        if (view->y[i] != view->y[0])
            return true;
    return false;
}

/* A view that is empty where the channel shows nothing, and why. */
static shot_status view_of(const shot_table *shot, const char *channel, shot_channel_view *out,
                           shot_lack *lack) {
    shot_status status = shot_channel_view_new(shot, channel, out);
    *lack = SHOT_LACK_NOTHING;
    if (status == SHOT_ERR_SINGULAR)
        *lack = shot_table_column(shot, channel) == NULL ? SHOT_LACK_CHANNEL : SHOT_LACK_SAMPLES;
    else if (status != SHOT_OK)
        return status;
    else if (!changes(out))
        *lack = SHOT_LACK_CHANGE;
    if (*lack != SHOT_LACK_NOTHING)
        shot_channel_view_free(out);
    return SHOT_OK;
}

/* A sensor slower than its logger: the rows in which it has news take the place of all. */
static shot_status keep_fresh(shot_channel_view *view) {
    shot_channel_view rows = *view;
    if (rows.n == 0)
        return SHOT_OK;
    shot_status status = shot_view_fresh(&rows, view);
    shot_channel_view_free(&rows);
    return status;
}

/* A meter that shows more than can run spins in the air of an empty tank, or in steam: such rows
 * are no water.  SHOT_ERR_SINGULAR where fewer than five are left. */
static shot_status leave_out_air(shot_channel_view *flow, bool *spun) {
    size_t kept = 0;
    for (size_t i = 0; i < flow->n; i++) {
        flow->t[kept] = flow->t[i];
        flow->y[kept] = flow->y[i];
        kept += flow->y[i] <= water_fastest;
    }
    *spun = kept < flow->n;
    flow->n = kept;
    if (!*spun || flow->processed)
        return kept < 5 ? SHOT_ERR_SINGULAR : SHOT_OK;
    double *work = malloc((shot_noise_workspace(kept) + 1) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status =
        shot_noise_estimate(flow->t, flow->y, kept, flow->step, work, &flow->noise);
    free(work);
    return status;
}

/* In a short log in which a channel moves most of the time (pulses; a gauge read by hand) hardly
 * a stretch of the length that signal/noise.c looks at is quiet, and curves pass for noise.  A
 * quarter of the samples is quiet: where these show less than half of the noise, it is what the log
 * has.  The lower quartile of |z| for a standard normal z is 0.3186.  Figures 2 s apart and more
 * show curves alone: all that is known of their noise is how they are rounded. */
static const double quartile = 0.31863936396437514, apart = 2;
enum { SHORT_LOG = 200 };

static shot_status take_quiet_noise(shot_channel_view *view) {
    double size[SHORT_LOG];
    if (view->processed || view->n > SHORT_LOG || view->n < 5)
        return SHOT_OK;
    scatter_residuals(view->t, view->y, view->n, size);
    const size_t n = shot_sample_quantile_sort(size, view->n - 2);
    const double rounded = view->step / sqrt(12), quiet = fmax(size[n / 4] / quartile, rounded);
    const double sd = view->noise.spacing >= apart && rounded > 0 ? rounded : quiet;
    if (sd < view->noise.sd / 2)
        view->noise = (shot_noise){.sd = sd, .inflation = 1, .spacing = view->noise.spacing};
    return SHOT_OK;
}

void shot_lack_say(shot_lack lack, const char *channel, char out[SHOT_LACK_ROOM]) {
    const char *format = lack == SHOT_LACK_CHANNEL   ? "there is no %s"
                         : lack == SHOT_LACK_SAMPLES ? "the %s has fewer than five samples"
                         : lack == SHOT_LACK_CHANGE  ? "the %s never changes"
                         : lack == SHOT_LACK_WATER ? "the %s begins when the pressure has been up "
                                                     "for seconds, and is taken for the beverage's"
                                                   : "the %s tells nothing";
    snprintf(out, SHOT_LACK_ROOM, format, channel);
}

/* What runs into the cup tells nothing of the water, but of the first drop. */
static void take_as_outflow(shot_phase_input *input) {
    if (input->outflow.n > 0)
        shot_channel_view_free(&input->flow);
    else {
        input->outflow = input->flow;
        input->stream = "flow";
        input->no_outflow = SHOT_LACK_NOTHING;
    }
    input->flow = (shot_channel_view){0};
    input->no_flow = SHOT_LACK_WATER;
}

static shot_status take_flow(const shot_table *shot, shot_phase_input *out) {
    SHOT_TRY(view_of(shot, "flow", &out->flow, &out->no_flow));
    if (out->flow.n > 0) {
        const shot_status left = leave_out_air(&out->flow, &out->spun);
        if (left == SHOT_OK)
            SHOT_TRY(keep_fresh(&out->flow));
        if (left != SHOT_ERR_SINGULAR)
            return left == SHOT_OK ? take_quiet_noise(&out->flow) : left;
        shot_channel_view_free(&out->flow);
        out->no_flow = SHOT_LACK_SAMPLES;
    }
    if (!shot_water_is_counted(&shot->head))
        return SHOT_OK;
    const shot_status status = shot_counted_views(shot, &out->water, &out->flow);
    if (status == SHOT_OK)
        out->no_flow = SHOT_LACK_NOTHING;
    return status == SHOT_ERR_SINGULAR ? SHOT_OK : status;
}

/* The pressure at which the gauge's scale ends, if marks of shot-clean say so. */
static double clipped_at(const shot_table *shot) {
    double most = NAN;
    for (size_t i = 0; i < shot->marks.count; i++) {
        const shot_mark *one = &shot->marks.marks[i];
        if (strcmp(one->kind, "clip") == 0 && one->channel != NULL &&
            strcmp(one->channel, "pressure") == 0)
            most = fmax(most, one->value);
    }
    return most;
}

shot_status shot_phase_input_take(const shot_table *shot, shot_phase_input *out) {
    const char *gauge = shot_head_value(&shot->head, "gauge");
    *out = (shot_phase_input){.stream = "outflow"};
    out->by_hand = shot_hand_moments(shot, out->known);
    out->clipped = clipped_at(shot);
    SHOT_TRY(shot_head_quantity(&shot->head, "scale.lag", "s", &out->scale_lag));
    SHOT_TRY(shot_head_quantity(&shot->head, "gauge.lag", "s", &out->gauge_lag));
    out->puck_gauge = gauge != NULL && strcmp(gauge, "puck") == 0;
    out->pump_gauge = gauge != NULL && strcmp(gauge, "pump") == 0;
    SHOT_TRY(view_of(shot, "pressure", &out->pressure, &out->no_pressure));
    SHOT_TRY(keep_fresh(&out->pressure));
    SHOT_TRY(take_quiet_noise(&out->pressure));
    SHOT_TRY(take_flow(shot, out));
    SHOT_TRY(view_of(shot, "weight", &out->weight, &out->no_weight));
    SHOT_TRY(shot_view_untouch(&out->weight));
    SHOT_TRY(view_of(shot, "outflow", &out->outflow, &out->no_outflow));
    if (out->flow.n > 0 && shot_flow_is_beverage(shot))
        take_as_outflow(out);
    return SHOT_OK;
}

void shot_phase_input_free(shot_phase_input *input) {
    shot_channel_view_free(&input->pressure);
    shot_channel_view_free(&input->flow);
    shot_channel_view_free(&input->weight);
    shot_channel_view_free(&input->outflow);
    shot_channel_view_free(&input->water);
}
