/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pulses tell while the shot runs. */
#include "detect/pulse_watch.h"

#include "detect/live_pump.h"
#include "detect/live_water.h"

typedef struct watch_state {
    bool ready;
    live_water into;
    live_pump pump;
} watch_state;

static shot_status look(void *state, const shot_table *shot, const void *settings,
                        shot_findings *found, shot_error *error) {
    watch_state *self = state;
    shot_mark mark = shot_mark_none();
    if (!self->ready)
        live_water_begin(&self->into, &shot->head);
    self->ready = true;
    if (live_water_look(&self->into, shot) == LIVE_WATER_NONE)
        self->pump = (live_pump){0};
    if (!live_pump_look(&self->pump, shot, &self->into, self->into.at))
        return SHOT_OK;
    mark.kind = (char *)"pulse";
    mark.from = self->pump.from;
    mark.to = self->pump.to;
    return shot_findings_add(found, &mark);
}

const shot_watch pulse_watch = {.size = sizeof(watch_state), .look = look, .apart = 1};
