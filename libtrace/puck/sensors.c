/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sensors; docs/model.md, "Logger". */
#include "puck/sensors.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/portable.h>

#include "puck/rounding.h"
#include "puck/streams.h"

static const double SLOWEST_DRIFT = 64;         /* s, of the 1/f noise */
static const double KNOCK_FADES = 0.15;         /* s */
static const double KNOCK_RINGS = 4;            /* Hz */
static const double STANDARD_GRAVITY = 9806.65; /* mm/s2 */

/* The scale's own filter, first order, over the whole brew. */
static shot_status weigh(struct sensors *sensors) {
    const shot_brew *brew = sensors->brew;
    sensors->scale = malloc(brew->count * sizeof *sensors->scale);
    if (sensors->scale == NULL)
        return SHOT_ERR_MEMORY;
    const double share = SHOT_BREW_STEP / (sensors->logger->scale_smooth + SHOT_BREW_STEP);
    double shown = 0;
    for (size_t i = 0; i < brew->count; i++) {
        shown += share * (brew->moments[i].fallen - shown);
        sensors->scale[i] = shown;
    }
    return SHOT_OK;
}

/* Knocks come at random: a Poisson process, drawn by its exponential gaps. */
static shot_status draw_knocks(struct sensors *sensors) {
    shot_random random = puck_stream(sensors->recipe->seed, sensors->recipe->index, STREAM_KNOCKS);
    const double end = (double)sensors->brew->count * SHOT_BREW_STEP;
    if (sensors->logger->knocks <= 0)
        return SHOT_OK;
    double t = 0;
    for (;;) {
        const double u = 1 - shot_random_uniform(&random);
        t -= shot_portable_log(u) * end / sensors->logger->knocks;
        if (t >= end)
            return SHOT_OK;
        shot_brew_span *grown =
            realloc(sensors->knocks, (sensors->knock_count + 1) * sizeof *grown);
        if (grown == NULL)
            return SHOT_ERR_MEMORY;
        sensors->knocks = grown;
        const double height = sensors->logger->knock_size * (1 + 0.3 * shot_random_normal(&random));
        grown[sensors->knock_count++] = (shot_brew_span){
            t, t + 4 * KNOCK_FADES, shot_random_chance(&random, 0.7) ? height : -height};
    }
}

shot_status sensors_start(struct sensors *sensors, const shot_logger *logger,
                          const shot_recipe *recipe, const shot_brew *brew) {
    *sensors = (struct sensors){.logger = logger, .recipe = recipe, .brew = brew};
    shot_random phases = puck_stream(recipe->seed, recipe->index, STREAM_PHASES);
    sensors->ripple_turn = shot_random_uniform(&phases);
    sensors->pulse_turn = shot_random_uniform(&phases);
    /* A drop falls freely: t = sqrt(2 h / g). */
    sensors->scale_delay = logger->scale_delay + sqrt(2 * recipe->cup.fall / STANDARD_GRAVITY);
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++) {
        struct sensor_state *state = &sensors->state[k];
        state->random = puck_stream(recipe->seed, recipe->index, STREAM_SENSOR + k);
        shot_flicker_start(&state->flicker,
                           puck_stream(recipe->seed, recipe->index, STREAM_FLICKER + k),
                           SLOWEST_DRIFT);
        state->last_time = NAN;
    }
    shot_status status = weigh(sensors);
    if (status == SHOT_OK)
        status = draw_knocks(sensors);
    if (status != SHOT_OK)
        sensors_stop(sensors);
    return status;
}

void sensors_stop(struct sensors *sensors) {
    free(sensors->scale);
    free(sensors->knocks);
    sensors->scale = NULL;
    sensors->knocks = NULL;
}

static double read_gauge(const struct sensors *sensors, double seconds) {
    const shot_moment m = shot_brew_at(sensors->brew, seconds);
    const shot_machine_recipe *machine = &sensors->recipe->machine;
    const double swing =
        m.ripple == 0
            ? 0
            : m.ripple * shot_portable_sin_turns(machine->mains * seconds + sensors->ripple_turn);
    return (machine->gauge_at_puck != 0 ? m.puck : m.pump) + swing;
}

static double pulses_until(const struct sensors *sensors, double seconds) {
    const double water = shot_brew_at(sensors->brew, seconds).water;
    return floor(water / sensors->logger->pulse + sensors->pulse_turn);
}

/* A flow meter that counts: pulses during its gate, or since the last row if that is longer. */
static double read_flow(const struct sensors *sensors, double seconds) {
    const shot_logger *logger = sensors->logger;
    if (logger->pulse <= 0)
        return shot_brew_at(sensors->brew, seconds).flow;
    const double last = sensors->state[SHOT_SENSOR_FLOW].last_time;
    const double gate =
        !isnan(last) && seconds - last > logger->gate ? seconds - last : logger->gate;
    return (pulses_until(sensors, seconds) - pulses_until(sensors, seconds - gate)) *
           logger->pulse / gate;
}

static double read_scale(const struct sensors *sensors, double seconds) {
    const shot_brew *brew = sensors->brew;
    const double place = (seconds - sensors->scale_delay) / SHOT_BREW_STEP;
    double weight = 0;
    if (place >= (double)(brew->count - 1)) {
        weight = sensors->scale[brew->count - 1];
    } else if (place > 0) {
        const size_t low = (size_t)place;
        weight = sensors->scale[low] +
                 (sensors->scale[low + 1] - sensors->scale[low]) * (place - (double)low);
    }
    for (size_t i = 0; i < sensors->knock_count; i++) {
        const double since = seconds - sensors->knocks[i].from;
        if (since >= 0 && seconds < sensors->knocks[i].to)
            weight += sensors->knocks[i].value * shot_portable_exp(-since / KNOCK_FADES) *
                      shot_portable_sin_turns(KNOCK_RINGS * since + 0.25);
    }
    return weight;
}

static double ideal(const struct sensors *sensors, shot_sensor_kind kind, double seconds) {
    switch (kind) {
    case SHOT_SENSOR_PRESSURE:
        return read_gauge(sensors, seconds);
    case SHOT_SENSOR_FLOW:
        return read_flow(sensors, seconds);
    case SHOT_SENSOR_WEIGHT:
        return read_scale(sensors, seconds);
    case SHOT_SENSOR_TEMPERATURE:
        return shot_brew_at(sensors->brew, seconds).temperature;
    case SHOT_SENSOR_OUTFLOW:
        return shot_brew_at(sensors->brew, seconds - sensors->scale_delay).spout;
    case SHOT_SENSOR_WATER:
        return shot_brew_at(sensors->brew, seconds).water;
    case SHOT_SENSOR_WANTED_PRESSURE:
        return shot_brew_at(sensors->brew, seconds).wanted_pressure;
    case SHOT_SENSOR_WANTED_FLOW:
        return shot_brew_at(sensors->brew, seconds).wanted_flow;
    }
    return NAN;
}

/* Draws the same random numbers whatever they are used for, so that changing one figure of a
 * logger leaves all other noise as it was. */
static double disturb(struct sensors *sensors, shot_sensor_kind kind, double value, double seconds,
                      double *spike) {
    const shot_sensor *sensor = &sensors->logger->sensor[kind];
    struct sensor_state *state = &sensors->state[kind];
    const double white = shot_random_normal(&state->random);
    const double chance = shot_random_uniform(&state->random);
    const double height = shot_random_normal(&state->random);
    const double dt = isnan(state->last_time) ? 0 : seconds - state->last_time;
    value += sensor->zero + sensor->noise * white;
    if (sensor->flicker > 0)
        value += sensor->flicker * shot_flicker_step(&state->flicker, dt);
    /* half of the mean size at least, so that a spike is one */
    const double size = height < 0 ? height * 0.627 - 0.5 : height * 0.627 + 0.5;
    *spike = chance < sensor->spikes ? sensor->spike_size * size : 0;
    value += *spike;
    return value < sensor->least ? sensor->least : value;
}

double sensors_read(struct sensors *sensors, shot_sensor_kind kind, double seconds, bool due,
                    double *spike) {
    const shot_sensor *sensor = &sensors->logger->sensor[kind];
    struct sensor_state *state = &sensors->state[kind];
    const bool first = isnan(state->last_time);
    *spike = 0;
    if (due && !first)
        state->rows++;
    if (!due || (!first && (double)state->rows < sensor->every))
        return sensors->logger->hold != 0 && !first ? state->last : NAN;
    const double value = ideal(sensors, kind, seconds);
    state->last = puck_round(disturb(sensors, kind, value, seconds, spike), sensor->step);
    state->last_time = seconds;
    state->rows = 0;
    return state->last;
}
