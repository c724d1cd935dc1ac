/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels and metadata by which phases are told. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "detect/fresh_values.h"
#include "detect/phases.h"

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

/* A sensor slower than its logger: the rows in which it has news. */
static shot_status fresh_view_of(const shot_table *shot, const char *channel,
                                 shot_channel_view *out, shot_lack *lack) {
    shot_channel_view rows;
    SHOT_TRY(view_of(shot, channel, &rows, lack));
    *out = rows;
    if (rows.n == 0)
        return SHOT_OK;
    shot_status status = shot_view_fresh(&rows, out);
    shot_channel_view_free(&rows);
    return status;
}

/* In a short log in which the pump pulses for most of the time hardly a stretch of the length that
 * signal/noise.c looks at is quiet, and curves pass for noise.  A shorter one is: where some
 * stretch of 16 samples shows less than half of the noise, which chance hardly brings about, that
 * is what the log has. */
enum { SHORT_LOG = 200, STRETCH = 16 };

static shot_status take_quiet_noise(shot_channel_view *view) {
    shot_noise least = view->noise, one;
    if (view->processed || view->n > SHORT_LOG)
        return SHOT_OK;
    double *work = malloc(shot_noise_workspace(STRETCH) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i + STRETCH <= view->n; i += STRETCH / 2)
        if (shot_noise_estimate(view->t + i, view->y + i, STRETCH, view->step, work, &one) ==
                SHOT_OK &&
            one.sd < least.sd)
            least = one;
    free(work);
    if (least.sd < view->noise.sd / 2)
        view->noise = (shot_noise){.sd = least.sd, .inflation = 1, .spacing = view->noise.spacing};
    return SHOT_OK;
}

void shot_lack_say(shot_lack lack, const char *channel, char out[SHOT_LACK_ROOM]) {
    const char *format = lack == SHOT_LACK_CHANNEL   ? "there is no %s"
                         : lack == SHOT_LACK_SAMPLES ? "the %s has fewer than five samples"
                         : lack == SHOT_LACK_CHANGE  ? "the %s never changes"
                                                     : "the %s tells nothing";
    snprintf(out, SHOT_LACK_ROOM, format, channel);
}

shot_status shot_phase_input_take(const shot_table *shot, shot_phase_input *out,
                                  shot_error *error) {
    const char *gauge = shot_head_value(&shot->head, "gauge");
    *out = (shot_phase_input){0};
    SHOT_TRY(shot_head_quantity(&shot->head, "scale.lag", "s", &out->scale_lag, error));
    out->puck_gauge = gauge != NULL && strcmp(gauge, "puck") == 0;
    out->pump_gauge = gauge != NULL && strcmp(gauge, "pump") == 0;
    SHOT_TRY(fresh_view_of(shot, "pressure", &out->pressure, &out->no_pressure));
    SHOT_TRY(take_quiet_noise(&out->pressure));
    SHOT_TRY(fresh_view_of(shot, "flow", &out->flow, &out->no_flow));
    SHOT_TRY(view_of(shot, "weight", &out->weight, &out->no_weight));
    return view_of(shot, "outflow", &out->outflow, &out->no_outflow);
}

void shot_phase_input_free(shot_phase_input *input) {
    shot_channel_view_free(&input->pressure);
    shot_channel_view_free(&input->flow);
    shot_channel_view_free(&input->weight);
    shot_channel_view_free(&input->outflow);
}
