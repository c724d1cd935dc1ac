/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the water takes from the grains: a fast store at broken surfaces, a slow one inside, and
 * the liquid of the bed as one stirred tank.  Internal to puck/. */
#ifndef SHOT_PUCK_SOLUBLES_H
#define SHOT_PUCK_SOLUBLES_H

#include <shottrace/puck/recipe.h>

struct solubles {
    const shot_solubles_recipe *recipe;
    double total;      /* g that could dissolve */
    double fast, slow; /* g still in the grains */
    double liquid;     /* g dissolved in the water of the bed */
};

void solubles_start(struct solubles *solubles, const shot_recipe *recipe);

/* Share of all solubles that has left the grains. */
double solubles_washed(const struct solubles *solubles);

/* Move on by dt: `wet` share of the bed is wet and holds `held` ml of liquid, of which
 * `out` ml/s leave below.  Returns the solubles that leave, g/s. */
double solubles_advance(struct solubles *solubles, double wet, double held, double out, double dt);

#endif
