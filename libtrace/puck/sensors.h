/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From what happened to a figure in a log: each sensor's lag, noise, zero, spikes and steps.
 * Internal to puck/. */
#ifndef SHOT_PUCK_SENSORS_H
#define SHOT_PUCK_SENSORS_H

#include <shottrace/puck/logger.h>
#include <shottrace/signal/flicker.h>
#include <shottrace/signal/random.h>

struct sensor_state {
    shot_random random;
    shot_flicker flicker;
    double last_time; /* of the last reading, s */
    double last;      /* the figure read then */
    size_t rows;      /* since then */
};

struct sensors {
    const shot_logger *logger;
    const shot_recipe *recipe;
    const shot_brew *brew;
    double *scale;          /* what the scale shows at each moment, but for its delay, g */
    double scale_delay;     /* s, fall of the drops included */
    double ripple_turn;     /* phase of the mains at time 0, turns */
    double pulse_turn;      /* share of a pulse that the flow meter has at the start */
    shot_brew_span *knocks; /* value: height in g */
    size_t knock_count;
    struct sensor_state state[SHOT_SENSOR_COUNT];
};

/* SHOT_ERR_MEMORY leaves nothing to free. */
shot_status sensors_start(struct sensors *sensors, const shot_logger *logger,
                          const shot_recipe *recipe, const shot_brew *brew);
void sensors_stop(struct sensors *sensors);

/* The figure that the log gets from a sensor at `seconds` of the program, NaN if none: a new one
 * if one is `due`, else the last one where the logger holds it.
 * *spike is set to the height of a spike in it, else to 0. */
double sensors_read(struct sensors *sensors, shot_sensor_kind kind, double seconds, bool due,
                    double *spike);

#endif
