/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What phases tell while the shot runs. */
#include "detect/segment_watch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "detect/brewing.h"
#include "detect/course.h"
#include "detect/hand_marks.h"
#include "detect/live_drip.h"
#include "detect/live_end.h"
#include "detect/live_low_brew.h"
#include "detect/live_plateau.h"
#include "detect/live_pump.h"
#include "detect/live_rise.h"
#include "detect/live_water.h"

typedef struct watch_state {
    bool ready;
    live_water into;
    live_pump pump;
    live_plateau plateau;
    live_low_brew low;
    live_drip drip;
    live_end end;
    double water, full_basket, full;           /* s; NaN: not yet */
    char *preinfusion, *brew;                  /* ids of the last marks sent, or of the person's */
    char *first_drip, *release, *fill;         /* the same */
    char *soak, *ramp;                         /* the same */
    size_t marks;                              /* of the shot that were looked at */
    bool water_marked, full_marked;            /* by a person */
    bool drip_marked, end_marked, fill_marked; /* the same */
    bool brimful;                              /* a full basket was told by its pressure */
    bool streams, filled;                      /* weight or outflow is logged; the fill was told */
    bool soaks;                                /* a soak was told */
} watch_state;

static void get_ready(watch_state *self, const shot_table *shot) {
    const char *const gauge = shot_head_value(&shot->head, "gauge");
    self->ready = true;
    live_water_begin(&self->into, &shot->head);
    self->plateau.puck_gauge = gauge != NULL && strcmp(gauge, "puck") == 0;
    self->low.plateau = self->plateau;
    self->plateau.least = shot_brewing;
    self->low.plateau.least = shot_no_pressure;
    self->water = self->full_basket = self->full = NAN;
    self->streams = shot_head_channel(&shot->head, "weight") >= 0 ||
                    shot_head_channel(&shot->head, "outflow") >= 0;
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

/* A note in the place of the last one of its kind says that it was none. */
static shot_status withdraw(double at, const char *why, char **last, shot_findings *found) {
    shot_mark note = shot_mark_none();
    shot_status status = SHOT_OK;
    note.kind = (char *)"note";
    note.refines = *last;
    note.from = note.to = at;
    note.note = (char *)why;
    if (*last != NULL)
        status = shot_findings_add(found, &note);
    free(*last);
    *last = NULL;
    return status;
}

/* ---- what a person marks while the shot runs ---- */

/* The person's mark stands for what was told, whose id is *last; what is told of it later refines
 * the person's. */
static shot_status give_way(const shot_mark *hand, char **last, shot_findings *found) {
    SHOT_TRY(withdraw(hand->from, "withdrawn: another mark tells of it", last, found));
    *last = shot_text_copy(hand->id);
    return hand->id != NULL && *last == NULL ? SHOT_ERR_MEMORY : SHOT_OK;
}

/* A kind that a person marked, from now on. */
static shot_status take_mark(const shot_mark *hand, bool *marked, char **last,
                             shot_findings *found) {
    if (hand == NULL || *marked)
        return SHOT_OK;
    *marked = true;
    return give_way(hand, last, found);
}

/* A span that a person marked tells its start, and its end that of what comes after it. */
static void take_span(const shot_mark *hand, bool marked, double *start, bool *next_marked) {
    if (hand == NULL || marked)
        return;
    *start = hand->from;
    *next_marked = *next_marked || hand->to > hand->from;
}

static shot_status take_marked(watch_state *self, const shot_table *shot, shot_findings *found) {
    if (self->marks == shot->marks.count)
        return SHOT_OK;
    self->marks = shot->marks.count;
    const shot_mark *const water = shot_hand_mark(shot, "preinfusion");
    take_span(water, self->water_marked, &self->water, &self->full_marked);
    SHOT_TRY(take_mark(water, &self->water_marked, &self->preinfusion, found));
    const shot_mark *const full = shot_hand_mark(shot, "brew");
    take_span(full, self->full_marked, &self->full, &self->end_marked);
    SHOT_TRY(take_mark(full, &self->full_marked, &self->brew, found));
    SHOT_TRY(take_mark(shot_hand_mark(shot, "first-drip"), &self->drip_marked, &self->first_drip,
                       found));
    SHOT_TRY(take_mark(shot_hand_mark(shot, "release"), &self->end_marked, &self->release, found));
    const shot_mark *const fill = shot_hand_mark(shot, "fill");
    if (fill != NULL && fill->to > fill->from)
        self->full_basket = fill->to;
    SHOT_TRY(take_mark(fill, &self->fill_marked, &self->fill, found));
    self->filled = self->filled || self->fill_marked;
    return SHOT_OK;
}

/* ---- what the samples tell ---- */

static const char by_pressure_only[] =
    "water was in before pressure showed it; there is no flow to tell when";

static shot_status forget_water(watch_state *self, const shot_table *shot, shot_findings *found) {
    self->water = NAN;
    self->pump = (live_pump){0};
    self->brimful = false;
    return withdraw(shot->rows.column[0][shot->rows.rows - 1], "withdrawn: it was a spike",
                    &self->preinfusion, found);
}

static shot_status look_for_water(watch_state *self, const shot_table *shot, shot_findings *found) {
    const live_water_news news = live_water_look(&self->into, shot);
    if (news == LIVE_WATER_NONE && !self->water_marked)
        return forget_water(self, shot, found);
    if (news != LIVE_WATER_TOLD || !isnan(self->water))
        return SHOT_OK;
    self->water = self->into.at;
    return send(shot, "preinfusion", self->water, NAN,
                self->into.by_flow_too ? NULL : by_pressure_only, &self->preinfusion, found);
}

/* A level that was none, since the pressure fell off as after a pulse, counts no more. */
static bool is_full(const watch_state *self) {
    return !isnan(self->full) && (self->full_marked || self->plateau.level > 0);
}

/* Where the water is shut off before the brew, the fill has ended; but for longer than this the
 * basket was full before, and its pressure tells since when. */
static const double full_before = 1; /* s; common practice, no source */

static shot_status look_for_fill(watch_state *self, const shot_table *shot, shot_findings *found) {
    if (!live_pump_look(&self->pump, shot, &self->into, self->water) || self->filled ||
        is_full(self))
        return SHOT_OK;
    self->filled = true;
    if (self->pump.taken > full_before)
        return SHOT_OK;
    self->full_basket = self->pump.to;
    return send(shot, "fill", self->pump.from, self->pump.to, NULL, &self->fill, found);
}

/* Where the water runs on, the pressure tells that the basket is full. */
static shot_status look_for_full_basket(watch_state *self, const shot_table *shot,
                                        shot_findings *found) {
    double *const *column = shot->rows.column;
    if (self->filled || self->brimful || isnan(self->water) || is_full(self) ||
        self->into.pressure < 0)
        return SHOT_OK;
    const double *flow = self->into.flow >= 0 ? column[self->into.flow] : NULL;
    const double at =
        live_plateau_full(&self->plateau, column[0], column[self->into.pressure], flow,
                          shot->rows.rows, live_onset_rest(&self->into.by_pressure));
    if (!(at > self->water))
        return SHOT_OK;
    self->brimful = true;
    self->full_basket = at;
    return send(shot, "fill", self->water, at, NULL, &self->fill, found);
}

/* What a person marks is not told by the log too; the rest of what is told with it is. */
static bool is_marked(const shot_table *shot, const char *kind) {
    return shot_hand_mark(shot, kind) != NULL;
}

/* The puck is held wet: the water was shut off, or a level is held that nobody knows to be the
 * brew's. */
static shot_status look_for_soak(watch_state *self, const shot_table *shot, shot_findings *found) {
    const double now = shot->rows.column[0][shot->rows.rows - 1];
    const bool stopped = self->filled && !self->fill_marked;
    if (self->soaks || is_full(self) || !(now > self->full_basket) || is_marked(shot, "soak") ||
        !(stopped || live_low_brew_holds(&self->low, now)))
        return SHOT_OK;
    self->soaks = true;
    return send(shot, "soak", self->full_basket, NAN, NULL, &self->soak, found);
}

static const char brewed_there[] = "withdrawn: the brew was at that level";

/* With full pressure it is known which rise was the main one, and that it ended a soak. */
static shot_status tell_rise(watch_state *self, const shot_table *shot, shot_findings *found,
                             shot_error *error) {
    double rise = NAN;
    if (!(self->full_basket < self->full))
        return SHOT_OK;
    if (self->soaks)
        SHOT_TRY(live_rise_find(shot, self->full_basket, &self->pump, self->full,
                                live_onset_rest(&self->into.by_pressure), &rise, error));
    if (rise > self->full_basket && !is_marked(shot, "soak"))
        SHOT_TRY(send(shot, "soak", self->full_basket, rise, NULL, &self->soak, found));
    else
        SHOT_TRY(withdraw(self->full, brewed_there, &self->soak, found));
    return is_marked(shot, "ramp") ? SHOT_OK
                                   : send(shot, "ramp", isnan(rise) ? self->full_basket : rise,
                                          self->full, NULL, &self->ramp, found);
}

static const char on_again[] = "withdrawn: the pump ran on";

/* The first drop has fallen, as the scale tells, or a person. */
static bool drips(const watch_state *self, const shot_table *shot) {
    const double now = shot->rows.column[0][shot->rows.rows - 1];
    const shot_mark *const hand = self->drip_marked ? shot_hand_mark(shot, "first-drip") : NULL;
    return hand != NULL ? hand->from <= now : self->drip.told;
}

/* A level at which a puck brews, or any that the cup says to be the brew's: a higher one that the
 * pressure comes to later is the brew's then too, however low (`least` is that of all levels). */
static bool has_come_up(watch_state *self, const shot_table *shot) {
    double *const *column = shot->rows.column;
    const double *flow = self->into.flow >= 0 ? column[self->into.flow] : NULL;
    const bool high =
        live_plateau_look(&self->plateau, column[0], column[self->into.pressure], flow,
                          shot->rows.rows, live_onset_rest(&self->into.by_pressure));
    if (high || is_full(self) ||
        !live_low_brew_look(&self->low, shot, &self->into, drips(self, shot)))
        return high;
    self->plateau = self->low.plateau;
    return true;
}

static shot_status look_for_plateau(watch_state *self, const shot_table *shot, shot_findings *found,
                                    shot_error *error) {
    const double now = shot->rows.column[0][shot->rows.rows - 1];
    if (self->into.pressure < 0 || self->full_marked || live_end_is_over(&self->end, now) ||
        !has_come_up(self, shot) || isnan(self->water))
        return SHOT_OK;
    SHOT_TRY(
        send(shot, "preinfusion", self->water, self->plateau.at, NULL, &self->preinfusion, found));
    self->full = self->plateau.at;
    self->end = (live_end){0};
    SHOT_TRY(tell_rise(self, shot, found, error));
    if (!self->end_marked)
        SHOT_TRY(withdraw(self->full, on_again, &self->release, found));
    return send(shot, "brew", self->full, NAN, NULL, &self->brew, found);
}

static bool may_end(const watch_state *self) {
    return self->into.pressure >= 0 && !self->end_marked && is_full(self);
}

static shot_status look_for_end(watch_state *self, const shot_table *shot, shot_findings *found,
                                shot_error *error) {
    live_end_news news;
    if (!may_end(self))
        return SHOT_OK;
    SHOT_TRY(live_end_look(&self->end, shot, self->full, live_onset_rest(&self->into.by_pressure),
                           &news, error));
    const double off = self->end.off;
    if (news == LIVE_END_RELEASED)
        return send(shot, "release", off, self->end.released, NULL, &self->release, found);
    if (news == LIVE_END_ON_AGAIN) {
        SHOT_TRY(withdraw(off, on_again, &self->release, found));
        return send(shot, "brew", self->full, NAN, NULL, &self->brew, found);
    }
    if (news != LIVE_END_OFF)
        return SHOT_OK;
    SHOT_TRY(send(shot, "brew", self->full, off, NULL, &self->brew, found));
    return send(shot, "release", off, NAN, NULL, &self->release, found);
}

/* Without a gauge and a meter nobody knows when water came, but drops come after it. */
static shot_status look_for_drip(watch_state *self, const shot_table *shot, shot_findings *found,
                                 shot_error *error) {
    live_drip_news news;
    const bool dry = isnan(self->water) && (self->into.pressure >= 0 || self->into.flow >= 0);
    if (!self->streams || self->drip_marked || dry)
        return SHOT_OK;
    SHOT_TRY(live_drip_look(&self->drip, shot, self->water, &news, error));
    const double at = self->drip.at;
    if (news == LIVE_DRIP_NONE)
        return withdraw(at, "withdrawn: the weight did not stay up", &self->first_drip, found);
    return news == LIVE_DRIP_TOLD ? send(shot, "first-drip", at, at, NULL, &self->first_drip, found)
                                  : SHOT_OK;
}

/* No kind is told twice on one row, since ids follow from the marks of the rows before. */
static shot_status look(void *state, const shot_table *shot, const void *settings,
                        shot_findings *found, shot_error *error) {
    watch_state *self = state;
    if (!self->ready)
        get_ready(self, shot);
    SHOT_TRY(take_marked(self, shot, found));
    SHOT_TRY(look_for_water(self, shot, found));
    const bool told = found->marks.count > 0;
    SHOT_TRY(look_for_fill(self, shot, found));
    SHOT_TRY(look_for_full_basket(self, shot, found));
    const size_t before = found->marks.count;
    if (!told)
        SHOT_TRY(look_for_plateau(self, shot, found, error));
    if (found->marks.count == before) {
        SHOT_TRY(look_for_soak(self, shot, found));
        SHOT_TRY(look_for_end(self, shot, found, error));
    }
    return look_for_drip(self, shot, found, error);
}

static void release(void *state) {
    watch_state *self = state;
    free(self->preinfusion);
    free(self->brew);
    free(self->first_drip);
    free(self->release);
    free(self->fill);
    free(self->soak);
    free(self->ramp);
}

/* There is one of each in a shot: whatever the whole shows takes the place of what was told. */
const shot_watch segment_watch = {
    .size = sizeof(watch_state), .look = look, .free = release, .apart = INFINITY};
