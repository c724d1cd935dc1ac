/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marks of phases that a person made. */
#include "detect/hand_marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

/* The mark that takes the place of this one, or NULL. */
static const shot_mark *refiner_of(const shot_mark_list *marks, size_t index) {
    const char *const id = marks->marks[index].id;
    for (size_t i = index + 1; id != NULL && i < marks->count; i++)
        if (marks->marks[i].refines != NULL && strcmp(marks->marks[i].refines, id) == 0)
            return &marks->marks[i];
    return NULL;
}

static bool is_by_hand(const shot_table *shot, size_t index) {
    const shot_mark *const one = &shot->marks.marks[index];
    const shot_mark *const later = refiner_of(&shot->marks, index);
    const bool withdrawn = later != NULL && strcmp(later->kind, "note") == 0;
    if (withdrawn || !isfinite(one->from) ||
        (one->id != NULL && shot_mark_id_is_provisional(one->id, one->kind)))
        return false;
    return shot_head_went_through(&shot->head, "shot-segment") == 0 ||
           (isnan(one->level) &&
            (later != NULL || shot_head_went_through(&shot->head, "shot-tag") > 0));
}

const shot_mark *shot_hand_mark(const shot_table *shot, const char *kind) {
    for (size_t i = shot->marks.count; i-- > 0;)
        if (strcmp(shot->marks.marks[i].kind, kind) == 0 && is_by_hand(shot, i))
            return &shot->marks.marks[i];
    return NULL;
}

/* An interval that does not hold its instant was left over when the instant was corrected. */
static shot_instant instant(double at, double low, double high) {
    static const double stopwatch = 0.2; /* s */
    return low <= at && at <= high ? (shot_instant){at, low, high}
                                   : (shot_instant){at, at - stopwatch, at + stopwatch};
}

bool shot_hand_moments(const shot_table *shot, shot_instant known[]) {
    /* what the start and the end of a kind are; of two that tell of one, the first counts */
    static const struct {
        const char *kind;
        shot_moment from, to;
    } kinds[] = {{"preinfusion", SHOT_WATER_IN, SHOT_FULL},
                 {"brew", SHOT_FULL, SHOT_PUMP_OFF},
                 {"fill", SHOT_WATER_IN, SHOT_FILL_END},
                 {"soak", SHOT_FILL_END, SHOT_RISE},
                 {"ramp", SHOT_RISE, SHOT_FULL},
                 {"release", SHOT_PUMP_OFF, SHOT_RELEASED},
                 {"first-drip", SHOT_FIRST_DRIP, SHOT_FIRST_DRIP}};
    bool any = false;
    for (size_t m = 0; m < SHOT_MOMENTS; m++)
        known[m] = (shot_instant){NAN, NAN, NAN};
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds && shot->marks.count > 0; k++) {
        const shot_mark *one = shot_hand_mark(shot, kinds[k].kind);
        if (one == NULL)
            continue;
        any = true;
        if (isnan(known[kinds[k].from].at))
            known[kinds[k].from] = instant(one->from, one->from_low, one->from_high);
        if (isnan(known[kinds[k].to].at) && one->to > one->from &&
            one->to > known[kinds[k].from].at) /* which another kind may have told */
            known[kinds[k].to] = instant(one->to, one->to_low, one->to_high);
    }
    return any;
}

/* ---- marks that take the place of a person's ---- */

static shot_status take_text(const char *text, char **out) {
    if (text == NULL)
        return SHOT_OK;
    free(*out);
    *out = shot_text_copy(text);
    return *out != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* The person may know an end that the log does not show. */
static void take_end(const shot_mark *hand, shot_mark *found) {
    if (!isnan(found->to) || !(hand->to > hand->from) || !(hand->to > found->from))
        return;
    const shot_instant end = instant(hand->to, hand->to_low, hand->to_high);
    const bool intervals = !isnan(found->level);
    found->to = end.at;
    found->to_low = intervals ? end.low : NAN;
    found->to_high = intervals ? end.high : NAN;
}

static shot_status refine_one(const shot_table *shot, const shot_mark *hand, shot_mark *found) {
    /* a provisional mark may stand for it already, and is refined as any is */
    if (shot_mark_list_stands(&shot->marks, (size_t)(hand - shot->marks.marks)))
        SHOT_TRY(take_text(hand->id, &found->refines));
    SHOT_TRY(take_text(hand->note, &found->note));
    for (size_t i = 0; i < hand->extra_count; i++)
        SHOT_TRY(shot_mark_add_extra(found, hand->extras[i].key, hand->extras[i].value));
    take_end(hand, found);
    return SHOT_OK;
}

shot_status shot_hand_marks_refine(const shot_table *shot, shot_findings *found) {
    for (size_t i = 0; i < found->marks.count && shot->marks.count > 0; i++) {
        shot_mark *one = &found->marks.marks[i];
        const shot_mark *hand =
            strcmp(one->kind, "note") == 0 ? NULL : shot_hand_mark(shot, one->kind);
        if (hand != NULL)
            SHOT_TRY(refine_one(shot, hand, one));
    }
    return SHOT_OK;
}
