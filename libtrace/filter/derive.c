/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantities that follow from the measured ones. */
#include <shottrace/filter/derive.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>
#include <shottrace/trace/unit.h>

#include "filter/derive_sink.h"
#include "filter/named_channels.h"
#include "filter/standard_errors.h"
#include "plain_format.h"

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

const char *derive_name(derive_quantity quantity) {
    return quantities[quantity].name;
}

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
     .initial = "0.05ml/s",
     .low = 1e-9,
     .high = 1e6,
     .field = offsetof(struct derive_settings, least_flow),
     .only = "quantity=hydraulic-resistance|quantity=apparent-permeability",
     .help = "under this flow resistance and permeability are missing: the quotient would tell of "
             "the meter, not of the puck"},
    {.name = "least-pressure",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "bar",
     .argument = "PRESSURE",
     .initial = "0.2bar",
     .low = 1e-9,
     .high = 1e6,
     .field = offsetof(struct derive_settings, least_pressure),
     .only = "quantity=hydraulic-conductance|quantity=apparent-permeability",
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
    {.letter = 'e',
     .name = "errors",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct derive_settings, errors),
     .help = "add the standard error of each quantity, NAME.se"},
    {0}};

/* ---- begin ---- */

static void choose(derive_sink *self, const shot_head *head) {
    const struct derive_settings *settings = self->stage.settings;
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        bool named = named_channels_hold(&settings->quantities, quantities[q].name);
        bool can = derive_shot_allows(&self->shot, (derive_quantity)q);
        bool there = shot_head_channel(head, quantities[q].name) >= 0;
        self->wanted[q] = can && (named || (settings->quantities.count == 0 && !there));
        self->added += self->wanted[q];
    }
}

static shot_status add_channel(shot_head *head, const char *name, const char *suffix,
                               const char *unit, shot_error *error) {
    shot_text whole = {0};
    shot_status status = shot_text_add_format(&whole, "%s%s", name, suffix);
    if (status == SHOT_OK && shot_head_channel(head, whole.bytes) >= 0)
        status = shot_fail(error, SHOT_ERR_DATA,
                           "shot '%s' has a channel '%s' already; take it out before", head->name,
                           whole.bytes);
    if (status == SHOT_OK)
        status = shot_head_add_channel(head, whole.bytes, unit);
    shot_text_free(&whole);
    return status;
}

static shot_status add_channels(derive_sink *self, shot_head *longer, shot_error *error) {
    SHOT_TRY(shot_head_copy(&self->head, longer));
    for (int q = 0; q < DERIVE_QUANTITIES; q++) {
        char *unit;
        if (!self->wanted[q])
            continue;
        SHOT_TRY(shot_unit_combine(quantities[q].x, 1, quantities[q].y, quantities[q].power, &unit,
                                   error));
        shot_status status = add_channel(longer, quantities[q].name, "", unit, error);
        if (status == SHOT_OK && self->errors.added[q])
            status = add_channel(longer, quantities[q].name, ".se", unit, error);
        free(unit);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

/* Which of the quantities get a standard error. */
static void choose_errors(derive_sink *self) {
    static const bool none[DERIVE_QUANTITIES];
    const struct derive_settings *settings = self->stage.settings;
    derive_errors_begin(&self->errors, &self->shot, &self->head,
                        settings->errors ? self->wanted : none);
    for (int q = 0; q < DERIVE_QUANTITIES; q++)
        self->added += self->errors.added[q];
}

static shot_status start_shot(derive_sink *self, const shot_head *head) {
    const struct derive_settings *settings = self->stage.settings;
    double lag;
    derive_shot_find(&self->shot, head);
    self->shot.least_flow = settings->least_flow;
    self->shot.least_pressure = settings->least_pressure;
    self->added = self->permeabilities = 0;
    self->water = self->sum_permeability = 0;
    self->last_time = self->last_flow = NAN;
    SHOT_TRY(derive_shot_read_bed(&self->shot, head));
    choose(self, head);
    choose_errors(self);
    self->from_outflow = self->shot.flow < 0;
    SHOT_TRY(shot_head_quantity(head, "scale.lag", "s", &lag));
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

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    derive_sink *self = (derive_sink *)sink;
    shot_head longer = {0};
    SHOT_TRY(shot_head_copy_again(head, &self->head));
    SHOT_TRY(start_shot(self, &self->head));
    shot_status status = add_channels(self, &longer, error);
    if (status == SHOT_OK)
        status = shot_stage_begin(sink, &longer, error);
    shot_head_free(&longer);
    SHOT_TRY(status);
    return derive_tell_begin(self, error);
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
    derive_errors_add_water(&self->errors, t);
    self->last_flow = flow;
    self->last_time = t;
}

/* What a row is made of. */
typedef struct derive_makings {
    derive_row row, through; /* through the puck: without the outflow where there is a flow */
    derive_row se;
} derive_makings;

static shot_status take_row(derive_sink *self, size_t i, derive_makings *out) {
    const double t = self->held.column[0][i], celsius = cell(self, self->shot.temperature, i);
    derive_makings of = {.row = {.pressure = cell(self, self->shot.pressure, i),
                                 .flow = cell(self, self->shot.flow, i),
                                 .outflow = cell(self, self->shot.outflow, i)}};
    double gain = NAN;
    if (!isnan(celsius))
        self->shot.celsius = celsius;
    of.row.celsius = self->shot.celsius;
    if (self->outflow.fit != NULL) {
        shot_local_fit_value slope;
        self->outflow.noise.correlation = self->errors.of[DERIVE_FROM_WEIGHT].is.correlation;
        SHOT_TRY(derive_outflow_at(&self->outflow, t, &slope));
        of.row.outflow = slope.value;
        gain = slope.gain;
    }
    integrate_water(self, t, of.row.flow);
    of.through = of.row;
    if (!self->from_outflow) /* a missing sample of the flow is missing */
        of.through.outflow = NAN;
    of.se = derive_errors_of_row(&self->errors, &self->held, i, gain);
    *out = of;
    return SHOT_OK;
}

static double value_of(const derive_sink *self, derive_quantity q, const derive_makings *of) {
    switch (q) {
    case DERIVE_OUTFLOW:
        return of->row.outflow;
    case DERIVE_WATER:
        return isnan(of->row.flow) ? NAN : self->water;
    default:
        return derive_value(q, &of->through, &self->shot);
    }
}

static double error_of(const derive_sink *self, derive_quantity q, const derive_makings *of) {
    switch (q) {
    case DERIVE_OUTFLOW:
        return isnan(of->row.outflow) ? NAN : of->se.outflow;
    case DERIVE_WATER:
        return isnan(of->row.flow) ? NAN : derive_errors_of_water(&self->errors);
    default:
        return derive_error(q, &of->through, &of->se, &self->shot);
    }
}

static double finite(double value) {
    return isfinite(value) ? value : NAN;
}

static shot_status make_row(derive_sink *self, size_t i) {
    derive_makings of;
    SHOT_TRY(take_row(self, i, &of));
    size_t columns = self->held.columns;
    for (size_t c = 0; c < columns; c++)
        self->row[c] = self->held.column[c][i];
    for (derive_quantity q = 0; q < DERIVE_QUANTITIES; q++) {
        if (!self->wanted[q])
            continue;
        const double value = finite(value_of(self, q, &of));
        self->row[columns++] = value;
        if (self->errors.added[q])
            self->row[columns++] = finite(error_of(self, q, &of));
        if (q == DERIVE_PERMEABILITY && !isnan(value)) {
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
    SHOT_TRY(derive_errors_watch(&self->errors, block));
    return self->errors.waits ? SHOT_OK : hand_on(self, false, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    derive_sink *self = (derive_sink *)sink;
    derive_errors_learn(&self->errors);
    SHOT_TRY(hand_on(self, true, error));
    SHOT_TRY(derive_tell_end(self, error));
    derive_outflow_free(&self->outflow);
    return shot_stage_end(sink, cut, error);
}

static void release(shot_sink *sink) {
    derive_sink *self = (derive_sink *)sink;
    derive_outflow_free(&self->outflow);
    derive_errors_free(&self->errors);
    shot_rows_free(&self->held);
    shot_rows_free(&self->out);
    shot_head_free(&self->head);
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
    if (settings->errors)
        standard_errors_latency(out, room);
    else
        shot_format(out, room, "with a weight to derive from: %g s and '# scale.lag:'; else 0 s",
                    settings->window / 2);
}

static const char *const examples[] = {
    "shot-derive shot.csv | shot-report",
    "shot-derive --quantity outflow,hydraulic-resistance --errors shot.csv",
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
        "at the pump shows more than the puck gets.\n"
        "Standard errors (--errors) carry the noise of the channels through to the quantity (JCGM "
        "100:2008, eq. 10): a '# noise:' line, a channel NAME.se, or else an estimate for which "
        "the shot is held to its end. The bed's size, the sensors' zeros and scales, and what the "
        "formulas leave out are not in them.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .settings_size = sizeof(struct derive_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
