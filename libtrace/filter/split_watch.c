/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a machine is doing, from its samples as they come.
 *
 * The bounds below are common practice, no source; docs/split.md says what each is for and what
 * share of simulated days they split rightly. */
#include "filter/split_watch.h"

#include <math.h>

#include <shottrace/signal/first_order.h>

enum { HOLD = 2 }; /* s that the last value of a channel counts */

static const double smoothing = 0.25; /* s, of pressure, flow and weight */
static const double slow = 2;         /* s, of the weight that rates are taken against */
static const double zero_time = 20;   /* s, in which the zero is followed at rest */
static const double on_pressure = 0.5, off_pressure = 0.35; /* bar over zero: it runs, or not */
static const double most_at_rest = 1.1; /* bar: no barometer has shown more (from memory) */
static const double on_flow = 0.5, off_flow = 0.3; /* ml/s, likewise */
static const double on_time = 0.3, off_time = 0.8; /* s that it must last */
static const double least_gap = 1.5; /* s: runs closer than this are one in any case */
static const double pulse_gap = 5;   /* s: ... unless the shot was pulled before */
static const double on_rate = 0.3;   /* g/s: beverage comes */
static const double fastest = 10;    /* g/s: as fast as through any puck */
static const double jump_rate = 15;  /* g/s: a cup is moved, nothing flows so ... */
static const double jump = 1;        /* ... with a step of at least so many g */
static const double vented = 1.5;    /* s from 4 bar to nothing: through a valve, no puck */
static const double shows_puck = 1;  /* s of water through it; a blind basket fills in less */
static const double standing = 0.7;  /* of the mean of the last second: else it is let off */
static const double drip = 0.25;     /* ml/s: less goes through no puck but a choked one */
/* ml that a run fills of its own at least: less than headspace_takes after a cup was put on the
 * scale, since nobody does that in a soak; more where there is a scale and nobody did. */
static const double own_fill_new_cup = 8, own_fill_same_cup = 16;

static void level_reset(split_level *level) {
    *level = (split_level){NAN, NAN, NAN, 0, 0};
}

void split_watch_init(split_watch *watch, bool pressure, bool flow, bool weight) {
    *watch = (split_watch){.has_pressure = pressure, .has_flow = flow, .has_weight = weight};
    level_reset(&watch->pressure);
    level_reset(&watch->slow_pressure);
    level_reset(&watch->flow);
    level_reset(&watch->weight);
    level_reset(&watch->slow_weight);
    watch->above = watch->below = watch->time = watch->run.off = NAN;
}

/* ---- levels ---- */

static void level_take(split_level *level, double time, double value, double tau) {
    if (isnan(value))
        return;
    level->smooth = isnan(level->smooth)
                        ? value
                        : shot_first_order(level->smooth, value, time - level->time, tau);
    level->value = value;
    level->time = time;
}

/* Over its zero; 0 where nothing is known any more. */
static double level_now(const split_level *level, double time) {
    return time - level->time <= HOLD ? level->smooth - level->zero : 0;
}

/* A small reading at rest is the sensor's zero. */
static void follow_zero(split_level *level, double dt, double bound) {
    if (isnan(level->smooth))
        return;
    if (fmin(fabs(level->smooth), fabs(level->smooth - level->rest)) < bound)
        level->zero = shot_first_order(level->zero, level->smooth, dt, zero_time);
}

/* A log begins at rest, where a gauge of absolute pressure reads that of the air, and one whose
 * zero is off, by how much: left alone, either would look like water that never stops. */
static void begin_at_rest(split_watch *watch, double pressure, double flow) {
    if (!isnan(watch->pressure.smooth) || flow > on_flow ||
        !(pressure >= off_pressure && pressure <= most_at_rest))
        return;
    watch->pressure.rest = watch->pressure.zero = pressure;
    watch->slow_pressure.rest = watch->slow_pressure.zero = pressure;
}

/* The slopes of two lags of a ramp differ by rate times the difference of their time constants. */
static double weight_rate(const split_watch *watch) {
    const double apart = watch->weight.smooth - watch->slow_weight.smooth;
    return isnan(apart) ? 0 : apart / (slow - smoothing);
}

/* ---- weight ---- */

static void take_weight(split_watch *watch, double time, double value) {
    const split_level *before = &watch->weight;
    if (isnan(value))
        return;
    const double step = value - before->value, dt = time - before->time;
    const bool moved = fabs(step) > jump && fabs(step) > jump_rate * dt;
    if (moved) {
        level_reset(&watch->weight);
        level_reset(&watch->slow_weight);
        watch->cup_moved = watch->cup_moved || !watch->running;
        watch->run.cup_gone = watch->run.cup_gone || (!watch->running && step < -5 * jump);
    }
    level_take(&watch->weight, time, value, smoothing);
    level_take(&watch->slow_weight, time, value, slow);
    const double rate = weight_rate(watch);
    if (!moved && dt < HOLD && rate > on_rate && rate < fastest) {
        watch->run.gain += step;
        watch->run.rising += dt;
    }
}

/* ---- runs ---- */

static bool over(const split_watch *watch, double pressure, double flow) {
    if (!watch->has_pressure && !watch->has_flow)
        return weight_rate(watch) > on_rate && weight_rate(watch) < fastest;
    return (watch->has_pressure && level_now(&watch->pressure, watch->time) > pressure) ||
           (watch->has_flow && level_now(&watch->flow, watch->time) > flow);
}

static void start_run(split_watch *watch) {
    watch->running = true;
    const double gap = watch->above - watch->run.off;
    if (gap < least_gap || (gap < pulse_gap && !split_run_is_complete(watch)))
        watch->run.off = NAN;
    else
        watch->run = (split_run){.on = watch->above,
                                 .off = NAN,
                                 .fill = NAN,
                                 .cup_changed = watch->cup_moved,
                                 .group = open_group_unseen};
    watch->cup_moved = false;
}

static void follow_runs(split_watch *watch, bool *started, bool *stopped) {
    const bool high = over(watch, on_pressure, on_flow), low = !over(watch, off_pressure, off_flow);
    watch->above = !high ? NAN : isnan(watch->above) ? watch->time : watch->above;
    watch->below = !low ? NAN : isnan(watch->below) ? watch->time : watch->below;
    *started = !watch->running && watch->time - watch->above >= on_time;
    *stopped = watch->running && watch->time - watch->below >= off_time;
    if (*started)
        start_run(watch);
    if (*stopped) {
        watch->running = false;
        watch->run.off = watch->below;
    }
}

/* ---- figures of the run ---- */

/* Something holds the water up: pressure stands, and flow is less than with the group open. */
static bool resists(const split_watch *watch, double p, double q) {
    if (p < standing * level_now(&watch->slow_pressure, watch->time))
        return false;
    if (watch->has_pressure && watch->has_flow)
        return puck_resists(p, q, watch->run.most_flow, &watch->run.group);
    return watch->has_pressure && p >= puck_pressure;
}

/* Water goes through something: as much as through a puck, and less than without one. */
static bool yields(const split_watch *watch, double p, double q) {
    if (!watch->has_flow)
        return false;
    if (!watch->has_pressure)
        return q >= drip && q < puck_throttles * watch->run.most_flow;
    return q >= drip && p >= puck_pressure && resists(watch, p, q);
}

static void measure(split_watch *watch, double dt) {
    split_run *run = &watch->run;
    const double p = level_now(&watch->pressure, watch->time);
    const double q = level_now(&watch->flow, watch->time);
    run->water += fmax(q, 0) * dt;
    if (watch->has_pressure && watch->has_flow)
        open_group_take(&run->group, watch->time, p, q);
    run->most_flow = fmax(run->most_flow, q);
    run->most_pressure = fmax(run->most_pressure, p);
    run->resisting = resists(watch, p, q) ? run->resisting + dt : 0;
    if (run->resisting >= puck_holds && !run->resisted) {
        run->resisted = true;
        run->fill = watch->has_flow ? run->water : NAN;
    }
    run->yielding = yields(watch, p, q) ? run->yielding + dt : 0;
    run->stopped += p >= 2 * puck_pressure && q < drip ? dt : 0;
    run->pressed = p >= puck_pressure ? run->pressed + dt : 0;
    run->high = p >= 2 * puck_pressure ? watch->time : run->high;
    run->brewed = p >= 2 * puck_pressure ? run->brewed + dt : run->brewed >= 8 ? run->brewed : 0;
}

void split_watch_push(split_watch *watch, double time, double pressure, double flow, double weight,
                      bool *started, bool *stopped) {
    const double dt = isnan(watch->time) ? 0 : fmin(time - watch->time, HOLD);
    watch->time = time;
    begin_at_rest(watch, pressure, flow);
    level_take(&watch->pressure, time, pressure, smoothing);
    level_take(&watch->slow_pressure, time, pressure, 4 * smoothing);
    level_take(&watch->flow, time, flow, smoothing);
    take_weight(watch, time, weight);
    follow_runs(watch, started, stopped);
    if (watch->running) {
        measure(watch, dt);
    } else if (isnan(watch->above)) {
        follow_zero(&watch->pressure, dt, 2 * on_pressure);
        follow_zero(&watch->flow, dt, on_flow);
    }
}

/* ---- what it is ---- */

bool split_run_is_shot(const split_watch *watch) {
    const split_run *run = &watch->run;
    const bool pressed = !watch->has_pressure || run->most_pressure > 1;
    const bool poured = run->gain >= 4 && run->rising >= (watch->has_pressure ? 2 : 6) && pressed;
    /* With a scale or a flow meter a blind basket shows by what does not flow; without either
     * only by its time. */
    const double long_enough = watch->has_flow || watch->has_weight ? 20 : 12;
    return poured || run->yielding >= 3 || run->pressed >= long_enough;
}

bool split_run_is_complete(const split_watch *watch) {
    return watch->run.brewed >= 8 || watch->run.gain >= 12 || watch->run.cup_gone;
}

bool split_run_has_own_fill(const split_watch *watch) {
    const double fill = isnan(watch->run.fill) ? watch->run.water : watch->run.fill;
    const double empty = watch->run.cup_changed ? own_fill_new_cup
                         : watch->has_weight    ? own_fill_same_cup
                                                : headspace_takes;
    return watch->has_flow ? fill >= empty : watch->run.cup_changed;
}

bool split_run_is_blind(const split_watch *watch) {
    return watch->run.stopped >= 2;
}

bool split_run_was_cleaning(const split_watch *watch) {
    return watch->has_pressure && watch->has_flow && split_run_is_blind(watch) &&
           watch->run.off - watch->run.high < vented;
}

bool split_run_has_puck(const split_watch *watch) {
    return watch->run.yielding >= shows_puck || split_run_is_shot(watch);
}
