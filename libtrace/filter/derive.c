/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantities that follow from the measured ones. */
#include <shottrace/filter/derive.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>
#include <shottrace/trace/unit.h>

#include "filter/derive_parts.h"
#include "filter/named_channels.h"
#include "signal/pi.h"

struct derive_settings {
    shot_texts quantities;
    double least_flow, least_pressure, window;
};

static const struct {
    const char *name, *x, *y; /* unit: x over or times y */
    int power;
} quantities[DERIVE_QUANTITIES] = {
    {"outflow", "g", "s", -1},
    {"water", "ml/s", "s", 1},
    {"hydraulic-resistance", "bar", "ml/s", -1},
    {"hydraulic-conductance", "ml/s", "bar", -1},
    {"hydraulic-power", "W", "", 1},
    {"apparent-permeability", "m2", "", 1},
};

static const shot_option options[] = {
    {.letter = 'q',
     .name = "quantity",
     .kind = SHOT_OPTION_LIST,
     .argument = "NAME,...",
     .field = offsetof(struct derive_settings, quantities),
     .help = "what to add: outflow, water, hydraulic-resistance, hydraulic-conductance, "
             "hydraulic-power, apparent-permeability; without it all that the shot allows"},
    {.name = "least-flow",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "ml/s",
     .argument = "FLOW",
     .initial = "0.05",
     .low = 1e-9,
     .high = 1e6,
     .field = offsetof(struct derive_settings, least_flow),
     .help = "under this flow resistance and permeability are missing: the quotient would tell of "
             "the meter, not of the puck"},
    {.name = "least-pressure",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "bar",
     .argument = "PRESSURE",
     .initial = "0.2",
     .low = 1e-9,
     .high = 1e6,
     .field = offsetof(struct derive_settings, least_pressure),
     .help = "under this pressure conductance and permeability are missing"},
    {.letter = 'w',
     .name = "window",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "s",
     .argument = "TIME",
     .initial = "1.5s",
     .low = 1e-9,
     .high = 1e6,
     .field = offsetof(struct derive_settings, window),
     .help = "outflow is the slope of the weight over so long: drops make steps"},
    {0}};

typedef struct derive_sink {
    shot_stage stage;
    derive_shot shot;
    bool wanted[DERIVE_QUANTITIES];
    size_t added;
    derive_outflow outflow;
    shot_rows held, out; /* rows that wait for the scale; rows made */
    double *row;
    double water, last_flow, last_time;
    double sum_permeability;
    size_t permeabilities;
    bool from_outflow; /* there is no flow of water */
} derive_sink;

/* ---- what the shot allows ---- */

static bool allows(const derive_shot *shot, derive_quantity quantity, bool outflow) {
    bool flow = shot->flow > 0 || shot->outflow > 0 || outflow;
    switch (quantity) {
    case DERIVE_OUTFLOW:
        return shot->weight > 0 && shot->outflow < 0;
    case DERIVE_WATER:
        return shot->flow > 0 && shot->water < 0;
    case DERIVE_PERMEABILITY:
        return shot->pressure > 0 && flow && isfinite(shot->area) && isfinite(shot->length);
    default:
        return shot->pressure > 0 && flow;
    }
}

static const char *needs(derive_quantity quantity) {
    static const char *const texts[DERIVE_QUANTITIES] = {
        "weight and no outflow yet",
        "flow and no water yet",
        "pressure and flow, outflow or weight",
        "pressure and flow, outflow or weight",
        "pressure and flow, outflow or weight",
        "pressure, flow, outflow or weight, '# basket:' and '# bed:' or '# dose:'"};
    return texts[quantity];
}

static shot_status choose(derive_sink *self, const shot_head *head, shot_error *error) {
    const struct derive_settings *settings = self->stage.settings;
    bool outflow = allows(&self->shot, DERIVE_OUTFLOW, false);
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        bool named = named_channels_hold(&settings->quantities, quantities[q].name);
        bool can = allows(&self->shot, (derive_quantity)q, outflow);
        if (named && !can)
            return shot_fail(error, SHOT_ERR_DATA, "shot '%s' does not allow %s: it needs %s",
                             head->name, quantities[q].name, needs((derive_quantity)q));
        self->wanted[q] = can && (named || settings->quantities.count == 0);
        self->added += self->wanted[q];
    }
    return SHOT_OK;
}

/* ---- the bed ---- */

/* Roast and ground coffee, tamped, weighs about so much a ml (common practice, no source). */
static const double tamped = 0.45; /* g/ml */

static shot_status read_bed(derive_sink *self, const shot_head *head, shot_error *error) {
    double basket, bed, dose;
    SHOT_TRY(shot_head_quantity(head, "basket", "mm", &basket, error));
    SHOT_TRY(shot_head_quantity(head, "bed", "mm", &bed, error));
    SHOT_TRY(shot_head_quantity(head, "dose", "g", &dose, error));
    double radius = basket / 2e3;
    self->shot.area = SHOT_PI * radius * radius;
    self->shot.length = !isnan(bed) ? bed / 1e3 : dose / tamped * 1e-6 / self->shot.area;
    return SHOT_OK;
}

static bool bed_is_guessed(const shot_head *head) {
    return shot_head_value(head, "bed") == NULL;
}

/* ---- begin ---- */

static void find_channels(derive_sink *self, const shot_head *head) {
    const struct derive_settings *settings = self->stage.settings;
    self->shot = (derive_shot){.pressure = shot_head_channel(head, "pressure"),
                               .flow = shot_head_channel(head, "flow"),
                               .outflow = shot_head_channel(head, "outflow"),
                               .weight = shot_head_channel(head, "weight"),
                               .temperature = shot_head_channel(head, "temperature"),
                               .water = shot_head_channel(head, "water"),
                               .celsius = 93,
                               .least_flow = settings->least_flow,
                               .least_pressure = settings->least_pressure};
}

static shot_status add_channels(derive_sink *self, const shot_head *head, shot_head *longer,
                                shot_error *error) {
    SHOT_TRY(shot_head_copy(head, longer));
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        char *unit;
        if (!self->wanted[q])
            continue;
        SHOT_TRY(shot_unit_combine(quantities[q].x, 1, quantities[q].y, quantities[q].power, &unit,
                                   error));
        shot_status status = shot_head_add_channel(longer, quantities[q].name, unit);
        free(unit);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

static shot_status start_shot(derive_sink *self, const shot_head *head, shot_error *error) {
    const struct derive_settings *settings = self->stage.settings;
    double lag;
    find_channels(self, head);
    self->added = self->permeabilities = 0;
    self->water = self->sum_permeability = 0;
    self->last_time = self->last_flow = NAN;
    SHOT_TRY(read_bed(self, head, error));
    SHOT_TRY(choose(self, head, error));
    self->from_outflow = self->shot.flow < 0;
    SHOT_TRY(shot_head_quantity(head, "scale.lag", "s", &lag, error));
    if (self->shot.outflow < 0 && self->shot.weight > 0)
        SHOT_TRY(derive_outflow_begin(&self->outflow, settings->window, isnan(lag) ? 0 : lag));
    shot_rows_free(&self->held);
    shot_rows_free(&self->out);
    SHOT_TRY(shot_rows_init(&self->held, head->channel_count));
    SHOT_TRY(shot_rows_init(&self->out, head->channel_count + self->added));
    free(self->row);
    self->row = malloc((head->channel_count + self->added) * sizeof *self->row);
    return self->row ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status say(derive_sink *self, const shot_head *head, shot_error *error) {
    bool rests = self->wanted[DERIVE_RESISTANCE] || self->wanted[DERIVE_CONDUCTANCE] ||
                 self->wanted[DERIVE_POWER] || self->wanted[DERIVE_PERMEABILITY];
    shot_sink *next = self->stage.next;
    if (rests && self->from_outflow)
        SHOT_TRY(shot_sink_say(next, "note", error,
                               "shot-derive: no flow into the basket: the flow of the beverage is "
                               "taken for it, with the density of water"));
    if (rests && self->from_outflow && self->shot.temperature < 0)
        SHOT_TRY(shot_sink_say(next, "note", error,
                               "shot-derive: no temperature: water is taken to be at 93 degC"));
    if (self->wanted[DERIVE_PERMEABILITY] && bed_is_guessed(head))
        SHOT_TRY(shot_sink_say(next, "note", error,
                               "shot-derive: no '# bed:': its depth is taken to be %.1f mm, from "
                               "the dose at %.2f g/ml",
                               1e3 * self->shot.length, tamped));
    return SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    derive_sink *self = (derive_sink *)sink;
    shot_head longer = {0};
    SHOT_TRY(start_shot(self, head, error));
    shot_status status = add_channels(self, head, &longer, error);
    if (status == SHOT_OK)
        status = shot_stage_begin(sink, &longer, error);
    shot_head_free(&longer);
    SHOT_TRY(status);
    return say(self, head, error);
}

/* ---- rows ---- */

static double cell(const derive_sink *self, ptrdiff_t column, size_t i) {
    return column > 0 ? self->held.column[column][i] : NAN;
}

static void integrate_water(derive_sink *self, double t, double flow) {
    if (isnan(flow))
        return;
    if (!isnan(self->last_flow))
        self->water += (t - self->last_time) * (flow + self->last_flow) / 2;
    self->last_flow = flow;
    self->last_time = t;
}

static shot_status make_row(derive_sink *self, size_t i) {
    size_t columns = self->held.columns;
    double t = self->held.column[0][i], celsius = cell(self, self->shot.temperature, i);
    if (!isnan(celsius))
        self->shot.celsius = celsius;
    derive_row row = {.pressure = cell(self, self->shot.pressure, i),
                      .flow = cell(self, self->shot.flow, i),
                      .outflow = cell(self, self->shot.outflow, i),
                      .celsius = self->shot.celsius};
    if (self->outflow.fit != NULL)
        row.outflow = derive_outflow_at(&self->outflow, t);
    integrate_water(self, t, row.flow);
    derive_row through = row;
    if (!self->from_outflow) /* a missing sample of the flow is missing */
        through.outflow = NAN;
    for (size_t c = 0; c < columns; c++)
        self->row[c] = self->held.column[c][i];
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        if (!self->wanted[q])
            continue;
        double value = q == DERIVE_OUTFLOW ? row.outflow
                       : q == DERIVE_WATER
                           ? (isnan(row.flow) ? NAN : self->water)
                           : derive_value((derive_quantity)q, &through, &self->shot);
        self->row[columns++] = isfinite(value) ? value : NAN;
        if (q == DERIVE_PERMEABILITY && isfinite(value)) {
            self->sum_permeability += log10(value);
            self->permeabilities++;
        }
    }
    return shot_rows_append_row(&self->out, self->row);
}

/* How many of the held rows need nothing more: all, or those that the scale has shown. */
static size_t settled(const derive_sink *self, bool ended) {
    if (self->outflow.fit == NULL || ended || self->held.rows == 0)
        return self->held.rows;
    double newest = self->held.column[0][self->held.rows - 1];
    size_t count = 0;
    while (count < self->held.rows &&
           self->held.column[0][count] + self->outflow.lag + self->outflow.half < newest)
        count++;
    return count;
}

static shot_status hand_on(derive_sink *self, bool ended, shot_error *error) {
    size_t count = settled(self, ended);
    shot_rows_clear(&self->out);
    for (size_t i = 0; i < count; i++)
        SHOT_TRY(make_row(self, i));
    shot_rows_drop(&self->held, count);
    shot_block block = shot_rows_front(&self->out, count);
    return shot_sink_rows(self->stage.next, &block, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    derive_sink *self = (derive_sink *)sink;
    SHOT_TRY(shot_rows_append(&self->held, block));
    for (size_t i = 0; self->outflow.fit != NULL && i < block->rows; i++)
        SHOT_TRY(derive_outflow_add(&self->outflow, block->column[0][i],
                                    block->column[self->shot.weight][i]));
    return hand_on(self, false, error);
}

/* Published permeabilities of coffee beds are 1e-14 to 1e-13 m2 (Corrochano et al. 2015, J. Food
 * Eng. 150:106-116); real shots imply less, since fines, compression and basket are lumped in. */
static shot_status warn_of_permeability(derive_sink *self, shot_error *error) {
    if (self->permeabilities == 0)
        return SHOT_OK;
    double typical = pow(10, self->sum_permeability / (double)self->permeabilities);
    if (typical >= 1e-15 && typical <= 1e-12)
        return SHOT_OK;
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-derive: an apparent permeability of %.2g m2 is outside 1e-15 to "
                         "1e-12 m2; check the units of flow and pressure, and the bed",
                         typical);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    derive_sink *self = (derive_sink *)sink;
    SHOT_TRY(hand_on(self, true, error));
    SHOT_TRY(warn_of_permeability(self, error));
    derive_outflow_free(&self->outflow);
    return shot_stage_end(sink, cut, error);
}

static void release(shot_sink *sink) {
    derive_sink *self = (derive_sink *)sink;
    derive_outflow_free(&self->outflow);
    shot_rows_free(&self->held);
    shot_rows_free(&self->out);
    free(self->row);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin,  rows, shot_stage_mark, shot_stage_line, end, shot_stage_pause, shot_stage_close,
    release};

static shot_status check_quantities(const shot_texts *names, shot_error *error) {
    for (size_t i = 0; i < names->count; i++) {
        bool known = false;
        for (int q = 0; q < DERIVE_QUANTITIES; q++)
            known = known || strcmp(quantities[q].name, names->items[i]) == 0;
        if (!known)
            return shot_fail(error, SHOT_ERR_USAGE, "--quantity: '%s' is none; see --help",
                             names->items[i]);
    }
    return SHOT_OK;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct derive_settings *settings = making->settings;
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(check_quantities(&settings->quantities, error));
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(derive_sink), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

static void latency(const void *values, char *out, size_t room) {
    const struct derive_settings *settings = values;
    snprintf(out, room, "with a weight to derive from: %g s and '# scale.lag:'; else 0 s",
             settings->window / 2);
}

static const char *const examples[] = {
    "shot-derive shot.csv | shot-report",
    "shot-derive --quantity outflow,hydraulic-resistance shot.csv",
    NULL,
};

const shot_description shot_derive = {
    .name = "derive",
    .purpose = "add quantities that follow from the measured ones",
    .details =
        "Adds hydraulic resistance (pressure over flow) and its inverse, hydraulic power, the "
        "water "
        "used, the outflow as the slope of the weight less the scale's lag, and the apparent "
        "permeability of the bed by Darcy's law, with the viscosity of water at the logged "
        "temperature (IAPWS SR6-08) or at 93 degC. Flow into the basket and flow of the beverage "
        "are told apart: the second stands in for the first only where there is no first, over the "
        "density of water, and a note says so. What cannot be known is missing. A gauge or a meter "
        "at the pump shows more than the puck gets.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .settings_size = sizeof(struct derive_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
