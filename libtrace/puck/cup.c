/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Basket, spout and drops; docs/model.md, "Cup". */
#include "puck/cup.h"

#include <shottrace/puck/water.h>

void cup_start(struct cup *cup, const shot_recipe *recipe) {
    *cup = (struct cup){
        .recipe = &recipe->cup,
        .density = shot_water_density(recipe->machine.water) * 1e-3,
    };
}

double cup_mass(const struct cup *cup, const struct liquid *liquid) {
    return liquid->water * cup->density + liquid->solids;
}

static void move(struct liquid *from, struct liquid *to, double share) {
    const struct liquid part = {from->water * share, from->solids * share};
    from->water -= part.water;
    from->solids -= part.solids;
    to->water += part.water;
    to->solids += part.solids;
}

void cup_advance(struct cup *cup, double water, double solids, double dt) {
    const shot_cup_recipe *r = cup->recipe;
    cup->spout.water += water * dt;
    cup->spout.solids += solids * dt;
    const double mass = cup_mass(cup, &cup->spout);
    cup->flow = 0;
    if (mass > r->film) { /* what the film does not hold drains with one time constant */
        const double drained = (mass - r->film) * dt / (r->spout_time + dt);
        cup->flow = drained / dt;
        move(&cup->spout, &cup->hanging, drained / mass);
    }
    const double hanging = cup_mass(cup, &cup->hanging);
    if (hanging >= r->drop || (cup->dripped && cup->flow >= r->stream)) {
        cup->dripped = true;
        move(&cup->hanging, &cup->fallen, 1);
    }
}
