/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels and metadata by which phases are told. */
#include <string.h>

#include "detect/phases.h"

static shot_status view_of(const shot_table *shot, const char *channel, shot_channel_view *out) {
    shot_status status = shot_channel_view_new(shot, channel, out);
    if (status != SHOT_ERR_SINGULAR)
        return status;
    shot_channel_view_free(out);
    return SHOT_OK;
}

shot_status shot_phase_input_take(const shot_table *shot, shot_phase_input *out,
                                  shot_error *error) {
    const char *gauge = shot_head_value(&shot->head, "gauge");
    *out = (shot_phase_input){0};
    SHOT_TRY(shot_head_quantity(&shot->head, "scale.lag", "s", &out->scale_lag, error));
    out->puck_gauge = gauge != NULL && strcmp(gauge, "puck") == 0;
    out->pump_gauge = gauge != NULL && strcmp(gauge, "pump") == 0;
    SHOT_TRY(view_of(shot, "pressure", &out->pressure));
    SHOT_TRY(view_of(shot, "flow", &out->flow));
    SHOT_TRY(view_of(shot, "weight", &out->weight));
    return view_of(shot, "outflow", &out->outflow);
}

void shot_phase_input_free(shot_phase_input *input) {
    shot_channel_view_free(&input->pressure);
    shot_channel_view_free(&input->flow);
    shot_channel_view_free(&input->weight);
    shot_channel_view_free(&input->outflow);
}
