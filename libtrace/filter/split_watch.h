/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a machine is doing, from its samples as they come: the water runs or not, it meets a puck or
 * none, a shot is done or may go on after its soak.
 *
 * A run is a time in which water moves or pressure stands.  All figures of it are causal: they
 * follow from the samples so far. */
#ifndef SHOT_FILTER_SPLIT_WATCH_H
#define SHOT_FILTER_SPLIT_WATCH_H

#include <stdbool.h>

#include <shottrace/status.h>

#include "puck/open_group.h"

/* The last value of a channel, smoothed. */
typedef struct split_level {
    double time, value, smooth; /* NaN before the first sample */
    double zero, rest; /* what it reads where there is none: now, and at the start of the log */
} split_level;

/* Since the water came on; short gaps, as between pulses, are part of a run that is not complete.
 */
typedef struct split_run {
    double on, off;   /* s; off NaN while it runs */
    double water;     /* ml */
    double fill;      /* ml until something resisted; NaN before that, or without flow */
    double resisting; /* s in a row that something has resisted */
    double yielding;  /* s in a row in which water went through something that resists */
    double stopped;   /* s in which pressure stood and no water went */
    double pressed;   /* s in a row over 2 bar */
    double brewed;    /* s in a row over 4 bar; stays once it is 8 */
    double high;      /* the last time over 4 bar, s */
    double most_flow, most_pressure;
    double gain, rising; /* beverage, g, and s in which it came as from a puck */
    bool cup_gone;       /* since it ended */
    bool cup_changed;    /* between the run before and this one */
    bool resisted;
    open_group group; /* what it has shown in this run */
} split_run;

typedef struct split_watch {
    bool has_pressure, has_flow, has_weight;
    split_level pressure, slow_pressure, flow, weight, slow_weight;
    double above, below; /* since when the level has been over, under what counts as running */
    double time;         /* of the last sample, NaN before it */
    bool running;
    bool cup_moved; /* since the last run */
    split_run run;
} split_watch;

void split_watch_init(split_watch *watch, bool pressure, bool flow, bool weight);

/* Take a row; channels that it lacks are NaN.  *started and *stopped tell that a run has begun or
 * ended by it: run.on and run.off say since when. */
void split_watch_push(split_watch *watch, double time, double pressure, double flow, double weight,
                      bool *started, bool *stopped);

/* The run so far can only be part of a shot. */
bool split_run_is_shot(const split_watch *watch);
/* What a shot is pulled for has been reached: a later run is not its continuation. */
bool split_run_is_complete(const split_watch *watch);
/* So much water went in that a headspace was empty: the run does not continue another one. */
bool split_run_has_own_fill(const split_watch *watch);
/* High pressure that moved next to no water: a blind basket, or a puck that is held. */
bool split_run_is_blind(const split_watch *watch);
/* ... and that a valve let go of at once, in a run that is over: no puck was held there. */
bool split_run_was_cleaning(const split_watch *watch);
/* Water has gone through something that resists, or the run is part of a shot anyhow. */
bool split_run_has_puck(const split_watch *watch);

#endif
