/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pumps, springs, hands and the line; docs/model.md, "Source". */
#include "puck/source.h"

#include <math.h>

#include <shottrace/puck/orifice.h>
#include <shottrace/puck/water.h>

#include "puck/streams.h"

void source_start(struct source *source, const shot_recipe *recipe) {
    const shot_machine_recipe *m = &recipe->machine;
    *source = (struct source){
        .machine = m,
        .random = puck_stream(recipe->seed, recipe->index, STREAM_HAND),
        .wanted_pressure = NAN,
        .wanted_flow = NAN,
        .drive = SHOT_DRIVE_DRAIN,
    };
    if (m->jet > 0) /* Pa s2/m6 to bar s2/ml2 */
        source->jet =
            shot_orifice_coefficient(m->jet * 1e-3, m->discharge, shot_water_density(m->water)) *
            1e-17;
}

/* Second-order approach of the regulator to its target (semi-implicit Euler). */
static void approach(struct source *source, double target, double dt) {
    const double omega = 1 / source->machine->response;
    source->speed += dt * (omega * omega * (target - source->pressure) -
                           2 * source->machine->damping * omega * source->speed);
    source->pressure += dt * source->speed;
}

/* A hand is never still: its wander is white noise through two equal relaxations, which has SD
 * `wander` and a smooth course. */
static double hand_sway(struct source *source, double dt) {
    const shot_machine_recipe *m = source->machine;
    if (m->wander == 0)
        return 0;
    const double pull = dt / m->wander_time;
    source->sway[0] +=
        -pull * source->sway[0] + sqrt(2 * pull) * shot_random_normal(&source->random);
    source->sway[1] += pull * (source->sway[0] - source->sway[1]);
    return m->wander * 1.4142135623730951 * source->sway[1];
}

static void set_line(struct source *source, int line, double level, double slope) {
    source->level[line] = level;
    source->slope[line] = slope;
}

static double step_target(struct source *source, const shot_recipe_step *step, double share,
                          double dt) {
    if (step->drive == SHOT_DRIVE_SPRING) {
        const double target = step->from - source->machine->spring_rate * source->sprung;
        return target > 0 ? target : 0;
    }
    const double target = step->from + (step->to - step->from) * share + hand_sway(source, dt);
    return target > 0 ? target : 0;
}

static void drive_nothing(struct source *source) {
    source->pressure = source->speed = source->rate = source->sprung = 0;
    set_line(source, 0, 0, 0);
    set_line(source, 1, 0, 0);
}

static void drive_flow(struct source *source, double target, double dt) {
    const shot_machine_recipe *m = source->machine;
    source->wanted_flow = target;
    source->rate += (target - source->rate) * dt / (m->response + dt);
    set_line(source, 0, source->rate, 0);
    set_line(source, 1, m->regulation * m->limit, m->regulation);
}

static void drive_pressure(struct source *source, double target, double dt) {
    const shot_machine_recipe *m = source->machine;
    source->wanted_pressure = target;
    approach(source, target, dt);
    /* The pump's own curve falls from `free_flow` at no pressure to nothing at `stall`. */
    set_line(source, 0, m->free_flow, m->free_flow / m->stall);
    set_line(source, 1, m->regulation * source->pressure, m->regulation);
}

void source_drive(struct source *source, const shot_recipe_step *step, double share, double puck,
                  double dt) {
    const shot_drive before = source->drive;
    source->drive = step->drive;
    source->wanted_pressure = source->wanted_flow = NAN;
    if (!source_running(source)) {
        drive_nothing(source);
    } else if (step->drive == SHOT_DRIVE_FLOW) {
        drive_flow(source, step->from + (step->to - step->from) * share, dt);
    } else {
        if (before == SHOT_DRIVE_FLOW) { /* the regulator takes over where the flow had got to */
            source->pressure = puck;
            source->speed = 0;
        }
        drive_pressure(source, step_target(source, step, share, dt), dt);
    }
}

bool source_running(const struct source *source) {
    return source->drive != SHOT_DRIVE_SHUT && source->drive != SHOT_DRIVE_DRAIN;
}

void source_gave(struct source *source, double flow, double dt) {
    if (source->drive == SHOT_DRIVE_SPRING)
        source->sprung += flow * dt;
}

/* flow = level - slope * (puck + jet flow^2), the root that exists: level > slope * puck. */
static struct source_flow line_flow(const struct source *source, int line, double puck) {
    const double slope = source->slope[line];
    const double drive = source->level[line] - slope * puck;
    if (drive <= 0)
        return (struct source_flow){0, 0};
    const double root = sqrt(1 + 4 * slope * source->jet * drive);
    return (struct source_flow){2 * drive / (1 + root), -slope / root};
}

struct source_flow source_flow(const struct source *source, double puck) {
    const struct source_flow pump = line_flow(source, 0, puck);
    if (pump.flow == 0)
        return pump;
    const struct source_flow held = line_flow(source, 1, puck);
    return held.flow < pump.flow ? held : pump;
}

double source_pressure(const struct source *source, double puck, double flow) {
    return puck + source->jet * flow * flow;
}
