/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What phases tell while the shot runs. */
#include "detect/segment_watch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "detect/hand_marks.h"
#include "detect/live_onset.h"
#include "detect/live_plateau.h"

/* What loggers' noise is until they show theirs, and what is worth the name of flow or pressure;
 * common practice, no source. */
static const double usual_flow_sd = 0.1, least_flow = 0.3;          /* ml/s */
static const double usual_pressure_sd = 0.05, least_pressure = 0.3; /* bar */

typedef struct watch_state {
    bool ready;
    ptrdiff_t pressure, flow; /* columns; -1: none */
    live_onset by_flow, by_pressure;
    live_plateau plateau;
    double water;                   /* s; NaN: not yet */
    char *preinfusion, *brew;       /* ids of the last marks sent, or of the person's */
    size_t marks;                   /* of the shot that were looked at */
    bool water_marked, full_marked; /* by a person */
} watch_state;

static void get_ready(watch_state *self, const shot_table *shot) {
    const char *const gauge = shot_head_value(&shot->head, "gauge");
    self->ready = true;
    self->pressure = shot_head_channel(&shot->head, "pressure");
    self->flow = shot_head_channel(&shot->head, "flow");
    self->by_flow = (live_onset){.usual_sd = usual_flow_sd, .least = least_flow};
    self->by_pressure = (live_onset){.usual_sd = usual_pressure_sd, .least = least_pressure};
    self->plateau.puck_gauge = gauge != NULL && strcmp(gauge, "puck") == 0;
    self->water = NAN;
}

/* A mark that takes the place of the last one of its kind, whose id is *last. */
static shot_status send(const shot_table *shot, const char *kind, double from, double to,
                        const char *note, char **last, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    char *former = *last;
    shot_status status = shot_provisional_id(shot, kind, last);
    mark.kind = (char *)kind;
    mark.id = *last;
    mark.refines = former;
    mark.from = from;
    mark.to = to;
    mark.note = (char *)note;
    if (status == SHOT_OK)
        status = shot_findings_add(found, &mark);
    free(former);
    return status;
}

/* ---- what a person marks while the shot runs ---- */

/* The person's mark stands for what was told, whose id is *last; what is told of it later refines
 * the person's. */
static shot_status give_way(const shot_mark *hand, char **last, shot_findings *found) {
    shot_mark note = shot_mark_none();
    shot_status status = SHOT_OK;
    note.kind = (char *)"note";
    note.refines = *last;
    note.from = note.to = hand->from;
    note.note = (char *)"withdrawn: another mark tells of it";
    if (*last != NULL)
        status = shot_findings_add(found, &note);
    free(*last);
    *last = shot_text_copy(hand->id);
    return status == SHOT_OK && hand->id != NULL && *last == NULL ? SHOT_ERR_MEMORY : status;
}

static shot_status take_marked(watch_state *self, const shot_table *shot, shot_findings *found) {
    if (self->marks == shot->marks.count)
        return SHOT_OK;
    self->marks = shot->marks.count;
    const shot_mark *const water = shot_hand_mark(shot, "preinfusion");
    const shot_mark *const full = shot_hand_mark(shot, "brew");
    if (water != NULL && !self->water_marked) {
        self->water_marked = true;
        self->water = water->from;
        self->full_marked = self->full_marked || water->to > water->from;
        SHOT_TRY(give_way(water, &self->preinfusion, found));
    }
    if (full != NULL && !self->full_marked) {
        self->full_marked = true;
        SHOT_TRY(give_way(full, &self->brew, found));
    }
    return SHOT_OK;
}

/* ---- what the samples tell ---- */

/* Each of two channels whose noise has nothing in common may come half of the way to its threshold
 * by chance about as often as one comes all of it: the rate of a sum falls off as exp(-2 reference
 * threshold) (Siegmund 1985, 'Sequential Analysis', section II.6).  So both together tell of water
 * that they bear in one row, where a spike in one does not. */
static const double half_way = 0.5;

static bool both_rise(const watch_state *self) {
    return self->flow >= 0 && self->pressure >= 0 && live_onset_share(&self->by_flow) >= half_way &&
           live_onset_share(&self->by_pressure) >= half_way;
}

static const char by_pressure_only[] =
    "water was in before pressure showed it; there is no flow to tell when";

static shot_status look_for_water(watch_state *self, const shot_table *shot, size_t row,
                                  shot_findings *found) {
    double t = shot->rows.column[0][row];
    bool flow =
        self->flow >= 0 && live_onset_push(&self->by_flow, t, shot->rows.column[self->flow][row]);
    bool pressure = self->pressure >= 0 &&
                    live_onset_push(&self->by_pressure, t, shot->rows.column[self->pressure][row]);
    const bool both = isnan(self->water) && both_rise(self);
    if (!isnan(self->water) || !(flow || pressure || both))
        return SHOT_OK;
    self->water = flow || both ? self->by_flow.from : self->by_pressure.from;
    return send(shot, "preinfusion", self->water, NAN, flow || both ? NULL : by_pressure_only,
                &self->preinfusion, found);
}

static shot_status look_for_plateau(watch_state *self, const shot_table *shot,
                                    shot_findings *found) {
    double *const *column = shot->rows.column;
    const double *flow = self->flow >= 0 ? column[self->flow] : NULL;
    if (self->pressure < 0 || self->full_marked ||
        !live_plateau_look(&self->plateau, column[0], column[self->pressure], flow, shot->rows.rows,
                           live_onset_rest(&self->by_pressure)) ||
        isnan(self->water))
        return SHOT_OK;
    SHOT_TRY(
        send(shot, "preinfusion", self->water, self->plateau.at, NULL, &self->preinfusion, found));
    return send(shot, "brew", self->plateau.at, NAN, NULL, &self->brew, found);
}

static shot_status look(void *state, const shot_table *shot, const void *settings,
                        shot_findings *found, shot_error *error) {
    watch_state *self = state;
    if (!self->ready)
        get_ready(self, shot);
    SHOT_TRY(take_marked(self, shot, found));
    SHOT_TRY(look_for_water(self, shot, shot->rows.rows - 1, found));
    return look_for_plateau(self, shot, found);
}

static void release(void *state) {
    watch_state *self = state;
    free(self->preinfusion);
    free(self->brew);
}

/* There is one of each in a shot: whatever the whole shows takes the place of what was told. */
const shot_watch segment_watch = {
    .size = sizeof(watch_state), .look = look, .free = release, .apart = INFINITY};
