/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The marks of a perfect detector. */
#include <shottrace/puck/truth.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "puck/knees.h"
#include "puck/phases.h"
#include "puck/rounding.h"
#include "room.h"

shot_status shot_truth_add(shot_truth_list *list, shot_truth truth) {
    shot_truth *grown = room_for_more(list->items, list->count, &list->room, 16, sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    list->items = grown;
    truth.value = puck_round(truth.value, 1e-4); /* what anyone could want to know */
    list->items[list->count++] = truth;
    return SHOT_OK;
}

void shot_truth_free(shot_truth_list *list) {
    free(list->items);
    memset(list, 0, sizeof *list);
}

static int by_time(const void *a, const void *b) {
    const shot_truth *x = a, *y = b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    if (strcmp(x->kind, y->kind) != 0)
        return strcmp(x->kind, y->kind);
    return strcmp(x->channel, y->channel);
}

void shot_truth_sort(shot_truth_list *list) {
    if (list->count > 0)
        qsort(list->items, list->count, sizeof *list->items, by_time);
}

/* An interval without a value; nothing where it does not begin, or ends before it begins. */
static shot_status add_interval(shot_truth_list *list, const char *kind, double from, double to) {
    if (isnan(from) || to < from)
        return SHOT_OK;
    return shot_truth_add(list, (shot_truth){kind, from, to, "", NAN, "", ""});
}

static shot_status add_phases(const shot_brew *brew, shot_truth_list *list) {
    const struct phases p = phases_find(brew);
    if (!isnan(p.brewing)) {
        SHOT_TRY(add_interval(list, "preinfusion", brew->water_in, p.brewing));
        SHOT_TRY(add_interval(list, "ramp", p.rise, p.brewing));
        SHOT_TRY(add_interval(list, "brew", p.brewing, p.off));
    }
    if (!isnan(p.filled))
        SHOT_TRY(add_interval(list, "fill", brew->water_in, p.filled));
    if (!p.direct && p.rise > p.filled)
        SHOT_TRY(add_interval(list, "soak", p.filled, p.rise));
    return add_interval(list, "release", p.off, p.rest);
}

static shot_status add_runs(const shot_recipe *recipe, const shot_brew *brew,
                            shot_truth_list *list) {
    for (size_t i = 0; i < brew->run_count; i++) {
        const shot_brew_span *run = &brew->runs[i];
        if (run->to < brew->main_rise - SHOT_BREW_STEP / 2 && i + 1 < brew->run_count) {
            const double lowest = phases_lowest(brew, run->to, run[1].from);
            SHOT_TRY(shot_truth_add(
                list, (shot_truth){"pulse", run->from, run->to, "pressure", lowest, "bar", ""}));
        }
        if (recipe->machine.mains > 0)
            SHOT_TRY(shot_truth_add(list, (shot_truth){"ripple", run->from, run->to, "pressure",
                                                       recipe->machine.mains, "Hz", ""}));
    }
    return SHOT_OK;
}

/* A channel is a surge where the pressure was steady or falling while it opened. */
static shot_status add_surges(const shot_brew *brew, shot_truth_list *list) {
    for (size_t i = 0; i < brew->channel_count; i++) {
        const shot_brew_span *channel = &brew->channels[i];
        if (isnan(channel->from) || isnan(channel->value) || channel->to > brew->pump_off)
            continue;
        const double before = shot_brew_at(brew, channel->from).puck;
        const double after = shot_brew_at(brew, channel->to).puck;
        const double seconds = channel->to - channel->from;
        const bool sudden = seconds > 0.2 - 1e-9 && seconds < 2 + 1e-9 && channel->value >= 0.05;
        const bool rising = after > 1.02 * before;
        const char *note = rising ? "a channel opened while the pressure rose"
                                  : "a channel opened, too small or too slow for a surge";
        if (sudden && !rising)
            SHOT_TRY(shot_truth_add(list, (shot_truth){"surge", channel->from, channel->to, "",
                                                       100 * channel->value, "%", ""}));
        else
            SHOT_TRY(shot_truth_add(list, (shot_truth){"note", channel->from, channel->to, "",
                                                       100 * channel->value, "%", note}));
    }
    return SHOT_OK;
}

shot_status shot_truth_find(const shot_recipe *recipe, const shot_brew *brew,
                            shot_truth_list *list) {
    SHOT_TRY(add_phases(brew, list));
    SHOT_TRY(add_interval(list, "first-drip", brew->first_drip, brew->first_drip));
    SHOT_TRY(add_runs(recipe, brew, list));
    SHOT_TRY(add_surges(brew, list));
    SHOT_TRY(knees_find(recipe, brew, list));
    shot_truth_sort(list);
    return SHOT_OK;
}
