/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random figures around a middle. */
#include "puck/draw.h"

#include <shottrace/signal/portable.h>

double draw_between(struct draw *draw, double low, double high) {
    const double middle = (low + high) / 2;
    return middle + draw->spread * (shot_random_between(&draw->random, low, high) - middle);
}

double draw_around(struct draw *draw, double middle, double factor) {
    const double power = draw->spread * shot_random_between(&draw->random, -1, 1);
    return middle * shot_portable_exp(power * shot_portable_log(factor));
}

int draw_chance(struct draw *draw, double p) {
    const double u = shot_random_uniform(&draw->random);
    return (draw->spread == 0 ? 0.5 : u) < p;
}
