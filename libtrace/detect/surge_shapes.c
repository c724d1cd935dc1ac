/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lengths from below 0.2 s to above 2 s, closer together where they are short. */
#include "detect/surge_shapes.h"

static const double lengths[SURGE_LENGTHS] = {0.1, 0.2, 0.27, 0.35, 0.5, 0.7,
                                              0.9, 1.2, 1.5,  1.8,  2.1, 2.6};

/* What comes after: the scar that is left, and the index of the time in which it heals to that. */
static const struct after {
    double scar;
    int healing;
} afters[SURGE_AFTERS] = {{1, 0}, {0, 0}, {0, 2}, {0.5, 1}};

const double surge_drain = 0.4, surge_longest_drain = 1;

conductance_opening surge_shape(size_t number, double onset, double drain) {
    const struct after *after = &afters[number % SURGE_AFTERS];
    return (conductance_opening){.onset = onset,
                                 .seconds = lengths[number / SURGE_FORMS],
                                 .form = (conductance_form)(number % SURGE_FORMS / SURGE_AFTERS),
                                 .scar = after->scar,
                                 .healing = after->healing,
                                 .drain = drain};
}
