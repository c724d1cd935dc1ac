/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The streams of random numbers of one shot, apart so that a change of one part (a longer log, a
 * rougher bed) leaves the others alone.  Internal to puck/. */
#ifndef SHOT_PUCK_STREAMS_H
#define SHOT_PUCK_STREAMS_H

#include <shottrace/signal/random.h>

enum puck_stream {
    STREAM_RECIPE,
    STREAM_BED,
    STREAM_HAND,
    STREAM_LOGGER,
    STREAM_CLOCK,
    STREAM_FAULTS,
    STREAM_KNOCKS,
    STREAM_PHASES,
    STREAM_SCALE_CLOCK,
    STREAM_SENSOR = 16,  /* one for each sensor */
    STREAM_FLICKER = 32, /* likewise */
    STREAM_ROOM = 64
};

static inline shot_random puck_stream(uint64_t seed, uint64_t index, int stream) {
    return shot_random_at(seed, index * STREAM_ROOM + (uint64_t)stream);
}

#endif
