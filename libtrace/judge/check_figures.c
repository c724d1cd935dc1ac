/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of a log, one by one. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "judge/check_parts.h"
#include "puck/beverage_flow.h"
#include "puck/water_counter.h"
#include "room.h"

/* ---- the list ---- */

shot_status check_list_add(check_list *list, const char *channel, const char *measure,
                           const char *unit, double value, const char *note) {
    if (!isfinite(value) && note == NULL)
        return SHOT_OK;
    check_figure *figures =
        room_for_more(list->figures, list->count, &list->room, 32, sizeof *figures);
    if (figures == NULL)
        return SHOT_ERR_MEMORY;
    list->figures = figures;
    char *own = shot_text_copy(unit);
    if (own == NULL)
        return SHOT_ERR_MEMORY;
    list->figures[list->count++] = (check_figure){channel, measure, own, value, NAN, NAN, note};
    return SHOT_OK;
}

double check_list_value(const check_list *list, const char *channel, const char *measure) {
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->figures[i].channel, channel) == 0 &&
            strcmp(list->figures[i].measure, measure) == 0)
            return list->figures[i].value;
    return NAN;
}

void check_list_free(check_list *list) {
    for (size_t i = 0; i < list->count; i++)
        free(list->figures[i].unit);
    free(list->figures);
    *list = (check_list){0};
}

/* ---- channels ---- */

static bool adds_up(const char *name) {
    return strcmp(name, "weight") == 0 || strcmp(name, "water") == 0;
}

shot_status check_channels(const shot_table *shot, check_channel *channels) {
    for (size_t c = 1; c < shot->head.channel_count; c++)
        SHOT_TRY(check_channel_find(&shot->rows, c, adds_up(shot->head.channels[c].name),
                                    &channels[c - 1]));
    return SHOT_OK;
}

/* A vibration that is sampled too slowly comes out as a slow wave. */
static shot_status add_aliases(const char *name, const check_channel *is, double mains,
                               check_list *out) {
    if (!(mains > 0) || !(is->rate > 0) || mains < is->rate / 2)
        return SHOT_OK;
    const double once = check_alias(mains, is->rate), twice = check_alias(2 * mains, is->rate);
    SHOT_TRY(check_list_add(out, name, "alias", "Hz", once,
                            once < 1 ? "it would look like a slow wave" : NULL));
    return check_list_add(out, name, "alias.second", "Hz", twice, NULL);
}

static shot_status add_channel(const shot_channel *channel, const check_channel *is, double mains,
                               check_list *out) {
    const char *name = channel->name, *unit = channel->unit;
    SHOT_TRY(check_list_add(out, name, "samples", "", (double)is->samples, NULL));
    SHOT_TRY(check_list_add(out, name, "missing", "", (double)is->missing, NULL));
    if (is->on_change)
        SHOT_TRY(check_list_add(out, name, "written.on.change", "", 1,
                                "no figure comes twice in a row: it looks written only where it "
                                "changed, and shot-clean --hold says so to all behind it"));
    SHOT_TRY(check_list_add(out, name, "rate", "Hz", is->rate,
                            isnan(is->rate) ? "fewer than three samples" : NULL));
    SHOT_TRY(check_list_add(out, name, "jitter", "%", 100 * is->jitter, NULL));
    SHOT_TRY(check_list_add(out, name, "gaps", "", (double)is->gaps, NULL));
    if (is->gaps > 0)
        SHOT_TRY(check_list_add(out, name, "gap.longest", "s", is->longest_gap, NULL));
    SHOT_TRY(check_list_add(out, name, "resolution", unit, is->step,
                            is->step == 0 ? "no step shows" : NULL));
    SHOT_TRY(check_list_add(out, name, "zero", unit, is->zero,
                            isnan(is->zero) ? "nothing is idle at the start" : NULL));
    SHOT_TRY(check_list_add(out, name, "noise", unit, is->noise.sd,
                            isnan(is->noise.sd) ? "too few samples" : NULL));
    if (is->noise.sd > 0)
        SHOT_TRY(check_list_add(out, name, "noise.correlation", "s", is->noise.correlation, NULL));
    SHOT_TRY(check_list_add(out, name, "clipped", "s", is->clipped, NULL));
    SHOT_TRY(check_list_add(out, name, "stuck", "s", is->stuck, NULL));
    return add_aliases(name, is, mains, out);
}

/* ---- the shot ---- */

/* What a log without a flow of the water leaves unknown; NULL where it has one. */
static const char *why_no_flow(const shot_table *shot) {
    if (shot_head_channel(&shot->head, "flow") < 0)
        return shot_water_is_counted(&shot->head)
                   ? "without flow: no resistance; the running count of the water tells phases and "
                     "surges"
                   : "without flow: no resistance, no water used";
    return shot_flow_is_beverage(shot)
               ? "flow: it begins with the beverage, so it is the cup's and not the water's: no "
                 "water used, and no resistance before the drops"
               : NULL;
}

static shot_status add_lacks(const shot_table *shot, check_list *out) {
    static const struct {
        const char *name, *note;
    } wanted[] = {
        {"pressure", "without pressure: no phases but by flow, no resistance"},
        {"flow", NULL},
        {"weight", "without weight: no first drop, no yield"},
        {"temperature", "without temperature: viscosity is taken as that of 93 degC"},
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        const char *name = wanted[i].name, *note = wanted[i].note;
        if (note == NULL)
            note = why_no_flow(shot);
        else if (shot_head_channel(&shot->head, name) >= 0)
            continue;
        if (note != NULL)
            SHOT_TRY(check_list_add(out, name, "lacks", "", NAN, note));
    }
    return SHOT_OK;
}

shot_status check_figures(const shot_table *shot, const check_channel *channels,
                          const struct check_settings *settings, check_list *out) {
    SHOT_TRY(add_lacks(shot, out));
    for (size_t c = 1; c < shot->head.channel_count; c++)
        SHOT_TRY(add_channel(&shot->head.channels[c], &channels[c - 1], settings->mains, out));
    return SHOT_OK;
}
