/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lengths from below 0.2 s to above 2 s. */
#include "detect/surge_shapes.h"

const double surge_lengths[SURGE_LENGTHS] = {0.1, 0.2, 0.27, 0.35, 0.5, 0.7,
                                             0.9, 1.2, 1.5,  1.8,  2.1, 2.6};

const double surge_slow_lengths[SURGE_SLOW_LENGTHS] = {3.5, 5, 7.5, 12};

/* What comes after: the scar that is left, and the index of the time in which it heals to that. */
static const struct after {
    double scar;
    int healing;
} afters[SURGE_AFTERS] = {{1, 0}, {0, 0}, {0, 2}, {0.5, 1}};

const double surge_drain = 0.4, surge_longest_drain = 1;

/* Gates of more than a second are of no use; common practice, no source. */
const double surge_gates[SURGE_GATES] = {0, 0.5, 1};

void surge_shape_after(size_t number, conductance_opening *opening) {
    opening->scar = afters[number].scar;
    opening->healing = afters[number].healing;
}

conductance_opening surge_shape(size_t number, double onset, double drain) {
    conductance_opening out = {.onset = onset,
                               .seconds = surge_lengths[number / SURGE_FORMS],
                               .form = (conductance_form)(number % SURGE_FORMS / SURGE_AFTERS),
                               .drain = drain};
    surge_shape_after(number % SURGE_AFTERS, &out);
    return out;
}
