/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A machine that obeys: it brews with the pressure that a program asks for, and logs as it does.
 *
 * Not the model of the library (docs/model.md), whose shots know beforehand how they go.  A
 * controller with a lag drives a pump that gives less against pressure; the water fills the basket,
 * then the puck takes it by its conductance, and what it holds back first; the room over the puck
 * gives way (compliance); a scale lags.  Channels open by chance, the likelier the higher the
 * pressure, over 0.2 to 1.5 s, and close again slowly once pressure is 0.7 bar lower.  Sizes are
 * those of a 58 mm basket in order of magnitude: common practice, no source. */
#ifndef SHOT_TEST_OBEYING_MACHINE_H
#define SHOT_TEST_OBEYING_MACHINE_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/random.h>

enum { MACHINE_OPENINGS = 20, MACHINE_ROW = 80 };

typedef struct machine_opening {
    double from, seconds;
    double loss;     /* of the resistance, 0 to 1 */
    double pressure; /* bar, as it opened */
} machine_opening;

typedef struct obeying_machine {
    /* What it is. */
    double pump, compliance, head_room, held; /* ml/s; ml/bar; ml; ml */
    double conductance, washing, hazard;      /* ml/s/bar; of it, 1/s; 1/s at 9 bar */
    double rate, gauge_step, gauge_noise, meter_step, meter_noise, scale_lag; /* Hz, bar, ml/s, s */
    /* How it stands. */
    shot_random random;
    double time, pressure, flow, weight, scale; /* s, bar, ml/s, g in the cup, g shown */
    double wanted;                              /* bar, for the program to set; 0: pump off */
    double filled, through, open, sum, next;    /* ml, ml, of the conductance, ml/s, s */
    bool was_full;                              /* the brewing pressure was reached ... */
    double full_at;                             /* s: ... then */
    machine_opening opening[MACHINE_OPENINGS];
    size_t openings;
} obeying_machine;

/* Machine, puck and logger number `index` of a seed; `hazard`: do channels open? */
obeying_machine obeying_machine_draw(uint64_t seed, uint64_t index, bool hazard);

/* Its logger's header, and what the logger writes when the next row is due. */
extern const char obeying_machine_head[];
void obeying_machine_next(obeying_machine *machine, char row[MACHINE_ROW]);

#endif
