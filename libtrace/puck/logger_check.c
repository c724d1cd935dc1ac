/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a logger cannot be. */
#include <shottrace/puck/logger.h>

#include <math.h>

#include "puck/limits.h"

static shot_status check_sensor(const shot_sensor *sensor, shot_error *error) {
    const struct limit limits[] = {
        {"presence of a channel", sensor->present, 0, 1},
        {"step of a channel", sensor->step, 0, 1e6},
        {"noise of a channel", sensor->noise, 0, 1e6},
        {"1/f noise of a channel", sensor->flicker, 0, 1e6},
        {"zero of a channel", sensor->zero, -1e6, 1e6},
        {"least figure of a channel", sensor->least, -INFINITY, 1e6},
        {"chance of a spike", sensor->spikes, 0, 1},
        {"height of spikes", sensor->spike_size, 0, 1e6},
        {"rows for each figure of a channel", sensor->every, 1, 1e6},
    };
    return limits_check(limits, sizeof limits / sizeof *limits, error);
}

shot_status shot_logger_check(const shot_logger *logger, shot_error *error) {
    const struct limit limits[] = {
        {"rate", logger->rate, 0.01, 1e5},
        {"jitter", logger->jitter, 0, 1},
        {"step of the clock", logger->clock, 0, 10},
        {"origin of the clock", logger->origin, -1e15, 1e15},
        {"lead", logger->lead, -1e4, 1e5},
        {"chance to lose a row", logger->drop, 0, 1},
        {"chance to repeat a row", logger->repeat, 0, 1},
        {"chance to swap rows", logger->swap, 0, 1},
        {"outages", logger->outages, 0, 1e3},
        {"hold", logger->hold, 0, 1},
        {"pulse of the flow meter", logger->pulse, 0, 1e3},
        {"gate of the flow meter", logger->gate, 1e-3, 100},
        {"knocks", logger->knocks, 0, 1e3},
        {"size of a knock", logger->knock_size, 0, 1e4},
        {"rate of the scale", logger->scale_rate, 0, 1e5},
        {"delay of the scale", logger->scale_delay, 0, 60},
        {"smoothing of the scale", logger->scale_smooth, 0, 60},
    };
    SHOT_TRY(limits_check(limits, sizeof limits / sizeof *limits, error));
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++)
        SHOT_TRY(check_sensor(&logger->sensor[k], error));
    return SHOT_OK;
}
