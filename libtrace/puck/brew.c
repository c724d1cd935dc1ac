/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Brewing a shot: the water balance of the headspace, solved step by step, drives bed, solubles
 * and cup; docs/model.md, "Circuit". */
#include <shottrace/puck/brew.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/puck/orifice.h>
#include <shottrace/puck/water.h>

#include "puck/bed.h"
#include "puck/cup.h"
#include "puck/headspace.h"
#include "puck/solubles.h"
#include "puck/source.h"
#include "room.h"
#include "signal/pi.h"

static const double ENOUGH = 1e-7; /* bar: the pressure is solved to this */

struct state {
    const shot_recipe *recipe;
    shot_brew *brew;
    size_t room; /* moments allocated */
    struct source source;
    struct bed bed;
    struct solubles solubles;
    struct cup cup;
    double stored;           /* water beyond a full headspace, ml; below 0 it is not full */
    double pressure;         /* over the puck, bar */
    double drain;            /* K of the three-way valve, bar s2/ml2; 0: none */
    double entered, drained; /* ml */
    double dip;              /* how much too cool the water at the group is, degC */
};

/* The flows of one step, ml/s. */
struct flows {
    double in, through, back;
};

/* Backwards out of the headspace: the drain when it is open, the leak of a pump that stands. */
static double flow_back(const struct state *s, double pressure, double *derivative) {
    *derivative = 0;
    if (pressure <= 0 || source_running(&s->source))
        return 0;
    double flow = s->recipe->machine.leak * pressure;
    *derivative = s->recipe->machine.leak;
    if (s->source.drive == SHOT_DRIVE_DRAIN && s->drain > 0) {
        const double root = sqrt(pressure / s->drain);
        flow += root;
        *derivative += root / (2 * pressure);
    }
    return flow;
}

static double imbalance(const struct state *s, struct bed_face face, double pressure, double dt,
                        struct flows *flows, double *derivative) {
    double back_derivative;
    const struct source_flow in = source_flow(&s->source, pressure);
    flows->in = in.flow;
    flows->through = face.conductance * (pressure + face.suction);
    flows->back = flow_back(s, pressure, &back_derivative);
    *derivative = headspace_compliance(&s->recipe->machine, pressure) +
                  dt * (face.conductance + back_derivative - in.derivative);
    return headspace_stored(&s->recipe->machine, pressure) - s->stored -
           dt * (flows->in - flows->through - flows->back);
}

/* A headspace that is not full holds no pressure; the bed drinks what lies on it. */
static struct flows unfilled(struct state *s, struct bed_face face, double dt) {
    struct flows flows;
    double derivative;
    imbalance(s, face, 0, dt, &flows, &derivative);
    const double lying = s->recipe->machine.headspace + s->stored + flows.in * dt;
    if (flows.through * dt > lying)
        flows.through = lying > 0 ? lying / dt : 0;
    return flows;
}

/* Backward Euler: the pressure at the end of the step, at which stored water and flows agree.
 * The imbalance rises with pressure, so Newton steps that leave the bracket are halved into it.
 * What the flows miss of the balance goes into the stored water, so that nothing is lost. */
static struct flows filled(struct state *s, struct bed_face face, double dt) {
    struct flows flows;
    double low = 0, high = 1000, derivative;
    double p = s->pressure > 0 ? s->pressure : 0.01;
    for (int i = 0; i < 100; i++) {
        const double f = imbalance(s, face, p, dt, &flows, &derivative);
        if (fabs(f) < ENOUGH * derivative)
            break;
        if (f > 0)
            high = p;
        else
            low = p;
        const double next = p - f / derivative;
        p = next >= low && next <= high ? next : (low + high) / 2;
    }
    s->pressure = p;
    return flows;
}

/* Under pressure it stays filled for a step: only near nothing can it run dry. */
static struct flows solve_circuit(struct state *s, struct bed_face face, double dt) {
    struct flows flows;
    bool full = s->pressure > 0.5;
    if (!full) {
        flows = unfilled(s, face, dt);
        full = s->stored + dt * (flows.in - flows.through) > 0;
    }
    if (full)
        flows = filled(s, face, dt);
    else
        s->pressure = 0;
    s->stored += dt * (flows.in - flows.through - flows.back);
    return flows;
}

/* Strokes of a vibratory pump: its flow swings between nothing and twice the mean, and compliance
 * and conductance take the swing up (a first-order low-pass at the mains frequency). */
static double ripple(const struct state *s, struct bed_face face, double in) {
    const shot_machine_recipe *m = &s->recipe->machine;
    if (m->mains == 0 || in == 0)
        return 0;
    const double reactance = 2 * SHOT_PI * m->mains * headspace_compliance(m, s->pressure);
    return in / sqrt(face.conductance * face.conductance + reactance * reactance);
}

static shot_status remember(struct state *s, const shot_moment *moment) {
    shot_brew *brew = s->brew;
    shot_moment *grown = room_for_more(brew->moments, brew->count, &s->room, 4096, sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    brew->moments = grown;
    brew->moments[brew->count++] = *moment;
    return SHOT_OK;
}

static double now(const struct state *s) {
    return (double)s->brew->count * SHOT_BREW_STEP;
}

static double water_temperature(const struct state *s) {
    return s->recipe->machine.water - s->dip;
}

static bool channel_is_due(const struct state *s, const shot_recipe_channel *c) {
    if (s->bed.front < 1 || !source_running(&s->source))
        return false;
    if (isnan(c->at))
        return cup_mass(&s->cup, &s->cup.fallen) >= c->mass;
    return now(s) - s->brew->water_in >= c->at - SHOT_BREW_STEP / 2;
}

/* Open the channels whose time or mass has come; measure each when it is fully open. */
static void watch_channels(struct state *s, double washed) {
    for (size_t i = 0; i < s->recipe->channel_count; i++) {
        const shot_recipe_channel *c = &s->recipe->channels[i];
        shot_brew_span *span = &s->brew->channels[i];
        if (isnan(span->from) && channel_is_due(s, c)) {
            bed_open_channel(&s->bed, i, washed);
            *span = (shot_brew_span){now(s), now(s) + c->seconds, NAN};
        } else if (isnan(span->value) && now(s) >= span->to) {
            span->value = bed_channel_share(&s->bed, i, washed);
        }
    }
}

static shot_moment observe(const struct state *s, struct flows flows, struct bed_face face) {
    return (shot_moment){
        .puck = s->pressure,
        .pump = source_pressure(&s->source, s->pressure, flows.in),
        .flow = flows.in,
        .water = s->entered,
        .through = flows.through,
        .resistance = 1 / face.conductance,
        .spout = s->cup.flow,
        .fallen = cup_mass(&s->cup, &s->cup.fallen),
        .solids = s->cup.fallen.solids,
        .temperature = water_temperature(s),
        .ripple = ripple(s, face, flows.in),
        .wanted_pressure = s->source.wanted_pressure,
        .wanted_flow = s->source.wanted_flow,
    };
}

static shot_status advance(struct state *s, const shot_recipe_step *step, double share) {
    const double dt = SHOT_BREW_STEP;
    const double washed = solubles_washed(&s->solubles);
    source_drive(&s->source, step, share, s->pressure, dt);
    watch_channels(s, washed);
    const struct bed_face face = bed_face(&s->bed, washed);
    const struct flows flows = solve_circuit(s, face, dt);
    if (flows.in > 0 && isnan(s->brew->water_in))
        s->brew->water_in = now(s) - dt;
    s->entered += flows.in * dt;
    s->drained += flows.back * dt;
    s->dip /= 1 + flows.in * dt / s->recipe->machine.dip_volume;
    source_gave(&s->source, flows.in, dt);
    const double out = bed_advance(&s->bed, s->pressure, flows.through, water_temperature(s), dt);
    const double held = s->bed.front * s->bed.front_room + s->bed.late;
    const double solids = solubles_advance(&s->solubles, s->bed.front, held, out, dt);
    cup_advance(&s->cup, out, solids, dt);
    if (s->bed.front >= 1 && isnan(s->brew->wet_through))
        s->brew->wet_through = now(s);
    if (s->cup.dripped && isnan(s->brew->first_drip))
        s->brew->first_drip = now(s);
    const shot_moment moment = observe(s, flows, face);
    return remember(s, &moment);
}

static shot_status run_step(struct state *s, const shot_recipe_step *step) {
    const size_t count = (size_t)floor(step->seconds / SHOT_BREW_STEP + 0.5);
    for (size_t i = 0; i < count; i++) {
        const bool may_end = step->until_mass > 0 && (double)i * SHOT_BREW_STEP >= step->at_least;
        if (may_end && cup_mass(&s->cup, &s->cup.fallen) >= step->until_mass)
            break;
        SHOT_TRY(advance(s, step, (double)(i + 1) / (double)count));
    }
    return SHOT_OK;
}

static bool drives(const shot_recipe_step *step) {
    return step->drive != SHOT_DRIVE_SHUT && step->drive != SHOT_DRIVE_DRAIN;
}

/* Steps that drive water one after the other are one run of the pump; the main rise begins a new
 * one only if the pump stood before it. */
static shot_status run_program(struct state *s) {
    const shot_recipe *recipe = s->recipe;
    shot_brew *brew = s->brew;
    bool on = false;
    for (size_t i = 0; i < recipe->step_count; i++) {
        const shot_recipe_step *step = &recipe->steps[i];
        const double start = now(s) - SHOT_BREW_STEP; /* the instant that was last remembered */
        if (drives(step) && !on)
            brew->runs[brew->run_count++] = (shot_brew_span){start, NAN, NAN};
        if (!drives(step) && on)
            brew->runs[brew->run_count - 1].to = start;
        on = drives(step);
        if (step->main && isnan(brew->main_rise))
            brew->main_rise = start;
        SHOT_TRY(run_step(s, step));
    }
    if (on)
        brew->runs[brew->run_count - 1].to = now(s) - SHOT_BREW_STEP;
    if (brew->run_count > 0)
        brew->pump_off = brew->runs[brew->run_count - 1].to;
    const shot_recipe_step tail = {.drive = SHOT_DRIVE_DRAIN, .seconds = recipe->tail};
    return run_step(s, &tail);
}

static void sum_up(const struct state *s) {
    shot_brew *brew = s->brew;
    const struct cup *cup = &s->cup;
    const double in_cup = cup->spout.water + cup->hanging.water + cup->fallen.water;
    const double in_bed = s->bed.front * s->bed.front_room + s->bed.late;
    const double above = s->recipe->machine.headspace + s->stored;
    brew->water_error = s->entered - s->drained - above - in_bed - in_cup;
    const struct solubles *sol = &s->solubles;
    const double out = cup->spout.solids + cup->hanging.solids + cup->fallen.solids;
    brew->solubles_error = sol->total - sol->fast - sol->slow - sol->liquid - out;
    brew->beverage = cup_mass(cup, &cup->fallen);
    brew->tds = brew->beverage > 0 ? 100 * cup->fallen.solids / brew->beverage : NAN;
    brew->yield = 100 * cup->fallen.solids / s->recipe->bed.dose;
    brew->dissolved = sol->total - sol->fast - sol->slow;
}

static shot_status start(struct state *s, const shot_recipe *recipe) {
    const shot_machine_recipe *m = &recipe->machine;
    shot_brew *brew = s->brew;
    s->recipe = recipe;
    s->stored = -m->headspace;
    s->dip = m->dip;
    if (m->drain > 0)
        s->drain =
            shot_orifice_coefficient(m->drain * 1e-3, m->discharge, shot_water_density(m->water)) *
            1e-17;
    source_start(&s->source, recipe);
    solubles_start(&s->solubles, recipe);
    cup_start(&s->cup, recipe);
    brew->water_in = brew->main_rise = brew->pump_off = NAN;
    brew->wet_through = brew->first_drip = NAN;
    brew->runs = calloc(recipe->step_count + 1, sizeof *brew->runs);
    brew->channels = calloc(recipe->channel_count + 1, sizeof *brew->channels);
    brew->channel_count = recipe->channel_count;
    if (brew->runs == NULL || brew->channels == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < recipe->channel_count; i++)
        brew->channels[i] = (shot_brew_span){NAN, NAN, NAN};
    return bed_start(&s->bed, recipe);
}

shot_status shot_brew_new(const shot_recipe *recipe, shot_brew **out) {
    *out = NULL;
    SHOT_TRY(shot_recipe_check(recipe, NULL));
    struct state s = {.brew = calloc(1, sizeof *s.brew)};
    if (s.brew == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = start(&s, recipe);
    if (status == SHOT_OK) {
        const shot_moment rest = observe(&s, (struct flows){0, 0, 0}, bed_face(&s.bed, 0));
        status = remember(&s, &rest);
    }
    if (status == SHOT_OK)
        status = run_program(&s);
    if (status == SHOT_OK)
        sum_up(&s);
    bed_stop(&s.bed);
    if (status == SHOT_OK)
        *out = s.brew;
    else
        shot_brew_free(s.brew);
    return status;
}

void shot_brew_free(shot_brew *brew) {
    if (brew == NULL)
        return;
    free(brew->moments);
    free(brew->runs);
    free(brew->channels);
    free(brew);
}

/* a + (b - a) * part for every figure of a moment, which is nothing but doubles. */
static shot_moment between(const shot_moment *a, const shot_moment *b, double part) {
    enum { FIGURES = sizeof *a / sizeof(double) };
    double from[FIGURES], to[FIGURES];
    shot_moment mid;
    memcpy(from, a, sizeof from);
    memcpy(to, b, sizeof to);
    for (size_t i = 0; i < FIGURES; i++)
        to[i] = from[i] + (to[i] - from[i]) * part;
    memcpy(&mid, to, sizeof mid);
    return mid;
}

shot_moment shot_brew_at(const shot_brew *brew, double seconds) {
    const double place = seconds / SHOT_BREW_STEP;
    if (!(place > 0))
        return brew->moments[0];
    if (place >= (double)(brew->count - 1))
        return brew->moments[brew->count - 1];
    const size_t low = (size_t)place;
    return between(&brew->moments[low], &brew->moments[low + 1], place - (double)low);
}
