/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loggers drawn at random, by grade; docs/model.md, "Logger". */
#include <shottrace/puck/logger.h>

#include <math.h>
#include <string.h>

#include "puck/draw.h"
#include "puck/streams.h"

/* One of `count` figures, each equally likely; the middle one without spread. */
static double draw_one(struct draw *d, const double *figures, size_t count) {
    const size_t pick = (size_t)shot_random_below(&d->random, count);
    return figures[d->spread == 0 ? count / 2 : pick];
}

#define DRAW_ONE(d, ...)                                                                           \
    draw_one((d), (const double[]){__VA_ARGS__},                                                   \
             sizeof((const double[]){__VA_ARGS__}) / sizeof(double))

/* Half of the sensors cannot show less than nothing. */
static double draw_least(struct draw *d) {
    return draw_chance(d, 0.5) ? 0 : -INFINITY;
}

static void draw_common(struct draw *d, shot_logger *logger) {
    memset(logger, 0, sizeof *logger);
    for (int i = 0; i < SHOT_SENSOR_COUNT; i++)
        logger->sensor[i] = (shot_sensor){.every = 1, .least = -INFINITY, .step = 0.01};
    for (int i = SHOT_SENSOR_PRESSURE; i <= SHOT_SENSOR_TEMPERATURE; i++)
        logger->sensor[i].present = 1;
    logger->sensor[SHOT_SENSOR_PRESSURE].least = draw_least(d);
    logger->sensor[SHOT_SENSOR_FLOW].least = draw_least(d);
    logger->clock = 0.001;
    logger->gate = 0.5;
    const double lead = floor(100 * draw_between(d, 0.3, 4)) / 100;
    logger->lead = draw_chance(d, 0.75) ? lead : 0;
    logger->scale_delay = draw_between(d, 0, 0.3);
    logger->scale_smooth = draw_between(d, 0.05, 0.3);
    logger->knock_size = draw_between(d, 2, 12);
}

static void draw_clean(struct draw *d, shot_logger *logger) {
    shot_sensor *s = logger->sensor;
    logger->rate = draw_around(d, 44.72, 2.236); /* 20 to 100 Hz */
    logger->jitter = draw_between(d, 0, 0.01);
    s[SHOT_SENSOR_PRESSURE].noise = draw_between(d, 0.004, 0.02);
    s[SHOT_SENSOR_FLOW].noise = draw_between(d, 0.01, 0.04);
    s[SHOT_SENSOR_WEIGHT].step = DRAW_ONE(d, 0.01, 0.05, 0.1);
    s[SHOT_SENSOR_WEIGHT].noise = draw_between(d, 0.01, 0.05);
    s[SHOT_SENSOR_TEMPERATURE].step = 0.1;
    s[SHOT_SENSOR_TEMPERATURE].noise = draw_between(d, 0.02, 0.1);
}

/* A scale that has news less often than the board, or a clock of its own. */
static void draw_scale_rate(struct draw *d, shot_logger *logger, double chance) {
    const double every = 1 + floor(draw_between(d, 1, 3.99));
    const double rate = draw_between(d, 3, 12);
    const bool slow = draw_chance(d, chance), own = draw_chance(d, 0.15);
    logger->sensor[SHOT_SENSOR_WEIGHT].every = slow && !own ? every : 1;
    logger->scale_rate = own ? rate : 0;
    logger->hold = draw_chance(d, 0.5);
}

static void draw_typical(struct draw *d, shot_logger *logger) {
    shot_sensor *s = logger->sensor;
    logger->rate = draw_around(d, 11.18, 2.236); /* 5 to 25 Hz */
    logger->jitter = draw_between(d, 0.03, 0.12);
    logger->drop = draw_between(d, 0, 0.01);
    logger->repeat = draw_between(d, 0, 0.005);
    logger->swap = draw_between(d, 0, 0.004);
    s[SHOT_SENSOR_PRESSURE].step = DRAW_ONE(d, 0.01, 0.02, 0.05, 0.1);
    s[SHOT_SENSOR_PRESSURE].noise = draw_between(d, 0.015, 0.06);
    s[SHOT_SENSOR_FLOW].step = DRAW_ONE(d, 0.01, 0.05, 0.1);
    s[SHOT_SENSOR_FLOW].noise = draw_between(d, 0.03, 0.1);
    s[SHOT_SENSOR_WEIGHT].step = DRAW_ONE(d, 0.01, 0.1, 0.1);
    s[SHOT_SENSOR_WEIGHT].noise = draw_between(d, 0.03, 0.12);
    s[SHOT_SENSOR_TEMPERATURE].step = DRAW_ONE(d, 0.1, 0.25, 0.5);
    s[SHOT_SENSOR_TEMPERATURE].noise = draw_between(d, 0.05, 0.2);
    logger->knocks = draw_between(d, 0, 0.2);
    draw_scale_rate(d, logger, 0.3);
}

static void draw_poor_sensor(struct draw *d, shot_sensor *sensor, double step, double noise,
                             double zero) {
    sensor->step = step;
    sensor->noise = draw_between(d, 0.5 * noise, 1.5 * noise);
    sensor->flicker = draw_between(d, 0.3 * noise, 1.2 * noise);
    sensor->zero = draw_between(d, -zero, zero);
    sensor->least = draw_least(d);
    sensor->spikes = draw_between(d, 0.001, 0.006);
    sensor->spike_size = 3;
}

static void draw_harsh(struct draw *d, shot_logger *logger) {
    shot_sensor *s = logger->sensor;
    logger->rate = draw_around(d, 4.472, 2.236); /* 2 to 10 Hz */
    logger->jitter = draw_between(d, 0.12, 0.3);
    logger->drop = draw_between(d, 0, 0.04);
    logger->repeat = draw_between(d, 0, 0.02);
    logger->swap = draw_between(d, 0, 0.015);
    logger->outages = draw_between(d, 0, 0.6);
    draw_poor_sensor(d, &s[SHOT_SENSOR_PRESSURE], DRAW_ONE(d, 0.05, 0.1, 0.25), 0.065, 0.3);
    draw_poor_sensor(d, &s[SHOT_SENSOR_FLOW], DRAW_ONE(d, 0.05, 0.1, 0.2), 0.1, 0.1);
    draw_poor_sensor(d, &s[SHOT_SENSOR_WEIGHT], DRAW_ONE(d, 0.1, 0.1, 0.5), 0.12, 0.5);
    s[SHOT_SENSOR_WEIGHT].least = -INFINITY;
    s[SHOT_SENSOR_WEIGHT].spike_size = 15;
    s[SHOT_SENSOR_TEMPERATURE].step = DRAW_ONE(d, 0.25, 0.5, 1);
    s[SHOT_SENSOR_TEMPERATURE].noise = draw_between(d, 0.1, 0.4);
    logger->knocks = draw_between(d, 0, 0.8);
    draw_scale_rate(d, logger, 0.2);
    const double pulse = draw_around(d, 0.12, 2.5);
    const double gate = draw_between(d, 0.3, 1);
    const int missing = (int)DRAW_ONE(d, SHOT_SENSOR_FLOW, SHOT_SENSOR_WEIGHT, SHOT_SENSOR_PRESSURE,
                                      SHOT_SENSOR_FLOW, SHOT_SENSOR_WEIGHT);
    logger->gate = gate;
    if (draw_chance(d, 0.5))
        logger->pulse = pulse;
    else
        s[missing].present = 0;
}

shot_status shot_logger_draw(shot_grade grade, uint64_t seed, uint64_t index, double spread,
                             shot_logger *out) {
    static void (*const draw_grade[SHOT_GRADE_COUNT])(struct draw *, shot_logger *) = {
        draw_clean, draw_typical, draw_harsh};
    memset(out, 0, sizeof *out);
    if ((int)grade < 0 || (int)grade >= SHOT_GRADE_COUNT || !(spread >= 0 && spread <= 1))
        return SHOT_ERR_RANGE;
    struct draw d = {puck_stream(seed, index, STREAM_LOGGER), spread};
    draw_common(&d, out);
    draw_grade[grade](&d, out);
    return SHOT_OK;
}
