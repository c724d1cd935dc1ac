/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers drawn at random, and what they are made of, for tests of their text. */
#ifndef SHOT_TEST_ANY_NUMBER_H
#define SHOT_TEST_ANY_NUMBER_H

#include <math.h>
#include <stdint.h>
#include <string.h>

#include <shottrace/signal/random.h>

static inline uint64_t bits_of(double value) {
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static inline double from_bits(uint64_t bits) {
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

/* What a logger writes: a few digits with a few decimals. */
static inline double logged_number(shot_random *random) {
    static const double scale[] = {1, 1e1, 1e2, 1e3, 1e4, 1e6, 1e9, 1e-3};
    double digits = (double)(int64_t)shot_random_below(random, 2000000) - 1000000;
    return digits / scale[shot_random_below(random, 8)];
}

/* Any but infinite ones and those that are none. */
static inline double finite_number(shot_random *random) {
    double value;
    do
        value = from_bits(shot_random_bits(random));
    while (!isfinite(value));
    return value;
}

#endif
