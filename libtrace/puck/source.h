/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What drives the water: pumps, springs, hands, the line.  All of them are, at one instant, the
 * lower of two straight lines of flow against pressure, followed by a jet.  Internal to puck/. */
#ifndef SHOT_PUCK_SOURCE_H
#define SHOT_PUCK_SOURCE_H

#include <shottrace/puck/recipe.h>
#include <shottrace/signal/random.h>

struct source {
    const shot_machine_recipe *machine;
    double jet;       /* K of dp = K Q^2, bar s2/ml2 */
    double pressure;  /* that the regulator holds now, bar */
    double speed;     /* of its approach, bar/s */
    double sway[2];   /* of a hand: two relaxations in a row give a smooth wander */
    double rate;      /* that a flow control gives now, ml/s */
    double sprung;    /* ml delivered since the spring was released */
    shot_drive drive; /* of the step at hand; SHOT_DRIVE_DRAIN when everything is off */
    /* for the step at hand: flow = level - slope * (pressure at the pump) */
    double level[2], slope[2];
    double wanted_pressure, wanted_flow;
    shot_random random;
};

/* Flow into the headspace at one pressure there, and its derivative. */
struct source_flow {
    double flow, derivative; /* ml/s, ml/s for each bar (<= 0) */
};

void source_start(struct source *source, const shot_recipe *recipe);

/* Set the lines for the next `dt` seconds, `share` (0 to 1) through `step`, against `puck` bar. */
void source_drive(struct source *source, const shot_recipe_step *step, double share, double puck,
                  double dt);

/* True while water is wanted: the pump runs, or spring or hand push. */
bool source_running(const struct source *source);

/* Tell the source what it gave in those `dt` seconds. */
void source_gave(struct source *source, double flow, double dt);

struct source_flow source_flow(const struct source *source, double puck);

/* Pressure at the pump when `flow` passes the jet towards `puck` bar. */
double source_pressure(const struct source *source, double puck, double flow);

#endif
