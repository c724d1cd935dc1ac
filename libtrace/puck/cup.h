/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the underside of the bed into the cup: basket and spout drain, drops form and fall.
 * Internal to puck/. */
#ifndef SHOT_PUCK_CUP_H
#define SHOT_PUCK_CUP_H

#include <shottrace/puck/recipe.h>

struct liquid {
    double water;  /* ml */
    double solids; /* g */
};

struct cup {
    const shot_cup_recipe *recipe;
    double density;        /* of the water, g/ml */
    struct liquid spout;   /* in basket and spout */
    struct liquid hanging; /* at the spout's mouth: the growing drop */
    struct liquid fallen;  /* has left it */
    double flow;           /* mass to the mouth, g/s */
    bool dripped;          /* the first drop has left */
};

void cup_start(struct cup *cup, const shot_recipe *recipe);

double cup_mass(const struct cup *cup, const struct liquid *liquid);

/* Move on by dt: `water` ml/s with `solids` g/s come from the bed. */
void cup_advance(struct cup *cup, double water, double solids, double dt);

#endif
