/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lengths from below 0.2 s to above 2 s, closer together where they are short. */
#include "detect/surge_shapes.h"

static const double lengths[SURGE_LENGTHS] = {0.1, 0.2, 0.27, 0.35, 0.5, 0.7,
                                              0.9, 1.2, 1.5,  1.8,  2.1, 2.6};

const double surge_drain = 0.4, surge_longest_drain = 1;

conductance_opening surge_shape(size_t number, double onset, double drain) {
    return (conductance_opening){onset, lengths[number / SURGE_FORMS],
                                 (conductance_form)(number % SURGE_FORMS / 2), number % 2 > 0,
                                 drain};
}
