/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots from pieces of formulas. */
#include "support/analytic_shot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>

enum { MOST_PIECES = 64, MOST_SURGES = 2 };

/* The course of pressure: each piece goes from where the last one ended to `level` at `end`, in a
 * straight line (tau 0) or exponentially towards `level` with time constant tau. */
struct piece {
    double end, level, tau;
};

struct surge {
    double from, to, size, heal; /* s, s, share, s (infinite: stays) */
};

struct curves {
    struct piece piece[MOST_PIECES];
    size_t pieces;
    struct surge surge[MOST_SURGES];
    size_t surges;
    double water, filled, rise, off, end; /* instants, s */
    double drip, drip_tau;                /* first drop and the build-up of the stream, s */
    double fill_flow, fill_tau;           /* ml/s and s */
    double resistance, trend; /* bar.s/ml at the first drip, and its relative rate, 1/s */
    double density;           /* g/ml */
    bool direct;
};

/* ---- the curves ---- */

static double pressure_at(const struct curves *c, double t) {
    double from = c->water, level = 0;
    if (t <= from)
        return 0;
    for (size_t i = 0; i < c->pieces; i++) {
        const struct piece *p = &c->piece[i];
        const double u = (t < p->end ? t : p->end) - from;
        level = p->tau > 0 ? p->level + (level - p->level) * exp(-u / p->tau)
                           : level + (p->level - level) * u / (p->end - from);
        if (t < p->end)
            return level;
        from = p->end;
    }
    return level;
}

static double resistance_at(const struct curves *c, double t) {
    double r = c->resistance * exp(c->trend * (t - c->drip));
    for (size_t i = 0; i < c->surges; i++) {
        const struct surge *s = &c->surge[i];
        double open = (t - s->from) / (s->to - s->from);
        open = open < 0 ? 0 : open > 1 ? exp(-(t - s->to) / s->heal) : open;
        r *= 1 - s->size * open;
    }
    return r;
}

static double flow_at(const struct curves *c, double t) {
    if (t < c->water || t >= c->off)
        return 0;
    if (t < c->filled)
        return c->fill_flow;
    const double steady = pressure_at(c, t) / resistance_at(c, t);
    return steady + (c->fill_flow - steady) * exp(-(t - c->filled) / c->fill_tau);
}

static double outflow_at(const struct curves *c, double t) {
    if (t < c->drip)
        return 0;
    const double build = 1 - exp(-(t - c->drip) / c->drip_tau);
    const double at = t < c->off ? t : c->off;
    const double stream = c->density * pressure_at(c, at) / resistance_at(c, at);
    return stream * build * (t < c->off ? 1 : exp(-(t - c->off) / 0.5));
}

/* ---- families ---- */

static void go(struct curves *c, double seconds, double level, double tau) {
    const double last = c->pieces > 0 ? c->piece[c->pieces - 1].end : c->water;
    c->piece[c->pieces++] = (struct piece){last + seconds, level, tau};
}

static double last_end(const struct curves *c) {
    return c->piece[c->pieces - 1].end;
}

static double draw(shot_random *r, double low, double high) {
    return shot_random_between(r, low, high);
}

/* Rise to a low level and stay there.  (One draw a statement, here and below: C leaves the order
 * of evaluation of arguments open.) */
static void low_level(struct curves *c, shot_random *r, double shortest, double longest) {
    const double level = draw(r, 1, 3.5), seconds = draw(r, shortest, longest);
    const double rise = draw(r, 0.5, 2);
    go(c, rise, level, 0);
    go(c, seconds, level * draw(r, 0.95, 1.1), 0);
    c->rise = last_end(c);
    c->direct = false;
}

static void pulses(struct curves *c, shot_random *r, shot_truth_list *truth) {
    const int count = 2 + (int)shot_random_below(r, 5);
    const double on = draw(r, 0.5, 1.5), off = draw(r, 0.8, 3);
    for (int i = 0; i < count; i++) {
        const double from = c->pieces > 0 ? last_end(c) : c->water;
        const double high = draw(r, 2, 6), rise_tau = draw(r, 0.15, 0.5);
        const double low = draw(r, 0.1, 1.2), fall_tau = draw(r, 0.3, 1);
        go(c, on, high, rise_tau);
        go(c, off, low, fall_tau);
        if (i == 0)
            c->filled = from + on;
        shot_truth_add(truth, (shot_truth){"pulse", from, from + on, "pressure",
                                           pressure_at(c, from + on + off), "bar", ""});
    }
    c->rise = last_end(c);
    c->direct = false;
}

static void before_main(struct curves *c, analytic_family family, shot_random *r,
                        shot_truth_list *truth) {
    c->direct = true;
    if (family == ANALYTIC_PREWET || family == ANALYTIC_STEP)
        low_level(c, r, 3, 10);
    if (family == ANALYTIC_SOAK)
        low_level(c, r, 10, 30);
    if (family == ANALYTIC_PULSES)
        pulses(c, r, truth);
}

static void decline(struct curves *c, shot_random *r, double top, double seconds) {
    const double level = top * draw(r, 0.2, 0.6), tau = seconds * draw(r, 0.6, 2);
    go(c, seconds, level, tau);
}

static void step_down(struct curves *c, shot_random *r, double top, double seconds) {
    const double fall = draw(r, 0.3, 1.5), depth = draw(r, 1.5, 3);
    go(c, fall, top - depth, 0);
    go(c, seconds * 0.33, top - depth, 0);
}

static void main_part(struct curves *c, analytic_family family, shot_random *r) {
    const double top = draw(r, 7, 10), seconds = draw(r, 15, 28);
    if (family == ANALYTIC_DIRECT) {
        const double lift = draw(r, 0.15, 0.5);
        go(c, draw(r, 3, 7), top - lift, 0);
        go(c, draw(r, 0.4, 0.8), top, 0);
    } else {
        go(c, draw(r, 0.6, 3), top, 0);
    }
    if (family == ANALYTIC_SOAK)
        go(c, seconds, top * draw(r, 0.5, 0.8), 0);
    else if (family == ANALYTIC_DECLINE)
        decline(c, r, top, seconds);
    else
        go(c, family == ANALYTIC_STEP ? seconds * 0.67 : seconds, top, 0);
    if (family == ANALYTIC_STEP)
        step_down(c, r, top, seconds);
    c->off = last_end(c);
    go(c, draw(r, 0.6, 2), 0, 0);
    go(c, draw(r, 2, 5), 0, 0);
    c->end = last_end(c);
}

/* `wanted` 0: every other shot gets one, of a random size. */
static void draw_surges(struct curves *c, shot_random *r, double brewing, double wanted) {
    const double start = (c->drip > brewing ? c->drip : brewing) + 2.5, room = c->off - 3 - start;
    const bool drawn = shot_random_chance(r, 0.5), any = (drawn || wanted > 0) && room > 4;
    c->surges = any;
    if (any) {
        const double from = start + draw(r, 0, room - 2);
        const double opening = draw(r, 0.2, 2), drawn_size = draw(r, 0.05, 0.5);
        const bool heals = shot_random_chance(r, 0.4);
        const double heal = draw(r, 3, 12), size = wanted > 0 ? wanted : drawn_size;
        c->surge[0] = (struct surge){from, from + opening, size, heals ? heal : INFINITY};
    }
}

/* ---- truth ---- */

static double first_at_least(const struct curves *c, double level, double from) {
    for (double t = from; t < c->off; t += 0.001)
        if (pressure_at(c, t) >= level)
            return t;
    return NAN;
}

static bool holds(const struct curves *c, double t) {
    const double limit = 1.03 * pressure_at(c, t);
    for (double u = t; u <= t + 3; u += 0.01)
        if (pressure_at(c, u) > limit)
            return false;
    return true;
}

/* Within 5 % of the first level of at least 60 % of the main maximum that the next 3 s do not
 * exceed by more than 3 %. */
static double end_of_preinfusion(const struct curves *c) {
    double most = 0;
    for (double t = c->rise; t < c->off; t += 0.01)
        most = fmax(most, pressure_at(c, t));
    for (double t = c->rise; t < c->off; t += 0.002)
        if (pressure_at(c, t) >= 0.6 * most && holds(c, t))
            return first_at_least(c, 0.95 * pressure_at(c, t), c->rise);
    return NAN;
}

static void add_interval(shot_truth_list *truth, const char *kind, double from, double to) {
    shot_truth_add(truth, (shot_truth){kind, from, to, "", NAN, "", ""});
}

static double slope_at(const struct curves *c, double t) {
    return (pressure_at(c, t + 1e-4) - pressure_at(c, t - 1e-4)) / 2e-4;
}

static void add_knees(const struct curves *c, shot_truth_list *truth) {
    for (size_t i = 0; i <= c->pieces; i++) {
        const double t = i == 0 ? c->water : c->piece[i - 1].end;
        const double change = slope_at(c, t + 2e-4) - slope_at(c, t - 2e-4);
        if (fabs(change) >= 0.05 && t < c->end)
            shot_truth_add(truth, (shot_truth){"knee", t, t, "pressure", change, "bar/s", ""});
    }
}

/* Behind an edge an exponential piece bends.  That is no break, but one who takes the mean slopes
 * of 0.2 s sees a change of slope of this size there (docs/model.md: what a knee is): it is neither
 * to be found nor to be missed. */
static void add_bends(const struct curves *c, shot_truth_list *truth) {
    const double h = 0.2;
    for (size_t i = 0; i < c->pieces; i++) {
        const double t = (i == 0 ? c->water : c->piece[i - 1].end) + h;
        const double change =
            (pressure_at(c, t + h) - 2 * pressure_at(c, t) + pressure_at(c, t - h)) / h;
        if (c->piece[i].tau > 0 && fabs(change) >= 0.15)
            shot_truth_add(truth, (shot_truth){"note", t, t, "pressure", change, "bar/s",
                                               "a bend, not a knee"});
    }
}

static void add_truth(const struct curves *c, double brewing, shot_truth_list *truth) {
    add_interval(truth, "preinfusion", c->water, brewing);
    add_interval(truth, "fill", c->water, c->filled);
    if (!c->direct)
        add_interval(truth, "soak", c->filled, c->rise);
    add_interval(truth, "ramp", c->direct ? c->filled : c->rise, brewing);
    add_interval(truth, "brew", brewing, c->off);
    double rest = c->off;
    while (rest < c->end && pressure_at(c, rest) >= 0.5)
        rest += 0.001;
    add_interval(truth, "release", c->off, rest);
    add_interval(truth, "first-drip", c->drip, c->drip);
    for (size_t i = 0; i < c->surges; i++)
        shot_truth_add(truth, (shot_truth){"surge", c->surge[i].from, c->surge[i].to, "",
                                           100 * c->surge[i].size, "%", ""});
    add_knees(c, truth);
    add_bends(c, truth);
    shot_truth_sort(truth);
}

/* ---- the log ---- */

struct log {
    double rate, jitter, drop, scale_delay;
    double step[3], noise[3]; /* of pressure, flow, weight */
};

static struct log draw_log(shot_grade grade, shot_random *r) {
    static const double steps[3][3] = {{0.01, 0.01, 0.05}, {0.05, 0.05, 0.1}, {0.25, 0.1, 0.1}};
    static const double noise[3][3] = {{0.01, 0.02, 0.03}, {0.035, 0.06, 0.08}, {0.08, 0.12, 0.15}};
    struct log log = {0};
    static const double rate[3][2] = {{20, 100}, {5, 25}, {2, 10}};
    static const double jitter[3] = {0.005, 0.08, 0.25}, drop[3] = {0, 0.005, 0.02};
    log.rate = rate[grade][0] * pow(rate[grade][1] / rate[grade][0], shot_random_uniform(r));
    log.jitter = jitter[grade];
    log.drop = drop[grade];
    log.scale_delay = draw(r, 0.1, 0.5);
    for (int k = 0; k < 3; k++) {
        log.step[k] = steps[grade][k];
        log.noise[k] = noise[grade][k] * draw(r, 0.5, 1.5);
    }
    return log;
}

static double read_off(double value, const struct log *log, int k, shot_random *r) {
    value += log->noise[k] * shot_random_normal(r);
    return log->step[k] > 0 ? floor(value / log->step[k] + 0.5) * log->step[k] : value;
}

static shot_status allocate(analytic_shot *shot, size_t rows) {
    double **column[] = {&shot->time, &shot->pressure, &shot->flow, &shot->weight};
    for (int k = 0; k < 4; k++)
        if ((*column[k] = malloc((rows + 1) * sizeof(double))) == NULL)
            return SHOT_ERR_MEMORY;
    return SHOT_OK;
}

/* Weight is the outflow's integral by the midpoint rule in steps of 1 ms. */
static shot_status sample(const struct curves *c, const struct log *log, shot_random *r,
                          analytic_shot *shot) {
    const size_t most = (size_t)(c->end * log->rate) + 2;
    double weight = 0, weighed = 0;
    SHOT_TRY(allocate(shot, most));
    shot->scale_lag = log->scale_delay;
    for (size_t i = 0; i < most; i++) {
        double jitter = log->jitter * shot_random_normal(r);
        jitter = fmax(-0.45, fmin(0.45, jitter));
        const double t = ((double)i + jitter * (i > 0)) / log->rate;
        for (; weighed + 0.001 <= t - log->scale_delay; weighed += 0.001)
            weight += 0.001 * outflow_at(c, weighed + 0.0005);
        const double pressure = read_off(pressure_at(c, t), log, 0, r);
        const double flow = read_off(flow_at(c, t), log, 1, r);
        const double shown = read_off(weight, log, 2, r);
        if (t > c->end || shot_random_chance(r, log->drop))
            continue;
        shot->time[shot->rows] = t;
        shot->pressure[shot->rows] = pressure;
        shot->flow[shot->rows] = flow;
        shot->weight[shot->rows++] = shown;
    }
    return SHOT_OK;
}

static shot_status finish(const struct curves *c, const struct log *log, shot_random *r,
                          analytic_shot *shot, analytic_shot **out) {
    const shot_status status = sample(c, log, r, shot);
    memcpy(shot->noise, log->noise, sizeof shot->noise);
    memcpy(shot->step, log->step, sizeof shot->step);
    if (status == SHOT_OK)
        *out = shot;
    else
        analytic_shot_free(shot);
    return status;
}

/* What is not left to chance. */
struct wish {
    double rate; /* Hz; 0: that of the grade */
    bool quiet;  /* no faults */
    double size; /* of the opening; 0: left to chance */
};

static struct log wanted_log(shot_grade grade, shot_random *r, struct wish wish) {
    struct log log = draw_log(grade, r);
    if (wish.quiet)
        return (struct log){.rate = wish.rate, .scale_delay = log.scale_delay};
    log.rate = wish.rate > 0 ? wish.rate : log.rate;
    return log;
}

static shot_status make(analytic_family family, shot_grade grade, uint64_t seed, uint64_t index,
                        struct wish wish, analytic_shot **out) {
    shot_random r = shot_random_at(seed ^ UINT64_C(0xa11a11), index);
    analytic_shot *shot = calloc(1, sizeof *shot);
    *out = NULL;
    if (shot == NULL)
        return SHOT_ERR_MEMORY;
    struct curves c = {.water = draw(&r, 0.5, 4)};
    before_main(&c, family, &r, &shot->truth);
    if (c.direct)
        c.rise = c.water;
    main_part(&c, family, &r);
    if (c.direct)
        c.filled = first_at_least(&c, 0.5, c.water);
    else if (family != ANALYTIC_PULSES) /* half of what is held when the main rise starts */
        c.filled = first_at_least(&c, pressure_at(&c, c.rise) / 2, c.water);
    const double brewing = end_of_preinfusion(&c);
    c.drip = c.direct ? brewing + draw(&r, -0.5, 2.5) : c.rise + draw(&r, -0.5, 3);
    c.drip_tau = draw(&r, 0.3, 1.5);
    c.fill_flow = draw(&r, 4, 9);
    c.fill_tau = draw(&r, 0.4, 1.5);
    c.resistance = draw(&r, 2.5, 8);
    c.trend = draw(&r, -0.02, 0.01);
    c.density = 0.98;
    draw_surges(&c, &r, brewing, wish.size);
    add_truth(&c, brewing, &shot->truth);
    const struct log log = wanted_log(grade, &r, wish);
    return finish(&c, &log, &r, shot, out);
}

shot_status analytic_shot_new(analytic_family family, shot_grade grade, uint64_t seed,
                              uint64_t index, analytic_shot **out) {
    return make(family, grade, seed, index, (struct wish){0}, out);
}

shot_status analytic_shot_quiet(analytic_family family, shot_grade grade, uint64_t seed,
                                uint64_t index, double rate, analytic_shot **out) {
    return make(family, grade, seed, index, (struct wish){.rate = rate, .quiet = true}, out);
}

shot_status analytic_shot_opening(analytic_family family, uint64_t seed, uint64_t index,
                                  double rate, double size, analytic_shot **out) {
    const struct wish wish = {.rate = rate, .size = size};
    return make(family, SHOT_GRADE_TYPICAL, seed, index, wish, out);
}

shot_status analytic_shot_textbook(double rate, double noise, uint64_t seed, analytic_shot **out) {
    shot_random r = shot_random_at(seed, UINT64_C(0x7e87));
    analytic_shot *shot = calloc(1, sizeof *shot);
    *out = NULL;
    if (shot == NULL)
        return SHOT_ERR_MEMORY;
    struct curves c = {.off = 27,
                       .drip = 7,
                       .drip_tau = 1.5,
                       .fill_flow = 2,
                       .fill_tau = 1,
                       .resistance = 4.5,
                       .density = 1,
                       .direct = true};
    go(&c, 6.5, 8.7, 0);
    go(&c, 0.5, 9, 0);
    go(&c, 20, 9, 0);
    go(&c, 1, 0, 0);
    go(&c, 2, 0, 0);
    c.end = 30;
    c.filled = 0.5 / 8.7 * 6.5;
    add_truth(&c, end_of_preinfusion(&c), &shot->truth);
    const struct log log = {.rate = rate, .noise = {noise, 0, 0}};
    return finish(&c, &log, &r, shot, out);
}

void analytic_shot_free(analytic_shot *shot) {
    if (shot == NULL)
        return;
    free(shot->time);
    free(shot->pressure);
    free(shot->flow);
    free(shot->weight);
    shot_truth_free(&shot->truth);
    free(shot);
}
