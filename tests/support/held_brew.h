/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of a channel at a pressure that is held, ten a second, with one opening of the bed.
 */
#ifndef SHOT_TEST_HELD_BREW_H
#define SHOT_TEST_HELD_BREW_H

#include <math.h>

#include <shottrace/signal/random.h>

#include "detect/conductance.h"

enum { HELD_MOST = 200 };

typedef struct held_brew {
    conductance_data data; /* points to what follows: not to be copied */
    double t[HELD_MOST], y[HELD_MOST], pressure[HELD_MOST], rate[HELD_MOST], age[HELD_MOST],
        taken[HELD_MOST];
} held_brew;

/* `count` figures at 9 bar of a bed of 0.25 ml/s/bar, which from `onset` on conducts more by a
 * share that grows to `gain` within so many seconds. */
static inline void held_brew_make(held_brew *self, size_t count, double onset, double seconds,
                                  double gain, double noise, uint64_t seed) {
    const double pressure = 9, conductance = 0.25; /* bar, ml/s/bar */
    shot_random random = shot_random_at(seed, 0);
    *self = (held_brew){.data = {.t = self->t,
                                 .y = self->y,
                                 .pressure = self->pressure,
                                 .rate = self->rate,
                                 .age = self->age,
                                 .taken = self->taken,
                                 .n = count,
                                 .sd = noise,
                                 .least_sd = noise / 100,
                                 .middle = conductance}};
    for (size_t i = 0; i < count; i++) {
        const double t = (double)i / 10, open = fmin(fmax((t - onset) / seconds, 0), 1);
        self->t[i] = t;
        self->pressure[i] = pressure;
        self->age[i] = 5 + t;
        self->y[i] =
            conductance * pressure * (1 + gain * open) + noise * shot_random_normal(&random);
    }
}

#endif
