/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The room over the bed: it fills at no pressure, then a cushion of trapped air and the give of
 * hoses and gaskets take up what comes.  Internal to puck/. */
#ifndef SHOT_PUCK_HEADSPACE_H
#define SHOT_PUCK_HEADSPACE_H

#include <shottrace/puck/recipe.h>

/* bar, absolute, of an atmosphere */
#define HEADSPACE_ATMOSPHERE 1.01325

/* Water stored beyond a full headspace at `pressure` bar, ml: the air that Boyle's law squeezes
 * away, and the elastic give. */
double headspace_stored(const shot_machine_recipe *machine, double pressure);

/* d(stored)/d(pressure), ml/bar. */
double headspace_compliance(const shot_machine_recipe *machine, double pressure);

#endif
