/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The true slope breaks of a noise-free pressure.  Internal to puck/. */
#ifndef SHOT_PUCK_KNEES_H
#define SHOT_PUCK_KNEES_H

#include <shottrace/puck/truth.h>

/* Append a knee for each slope break of the pressure where the recipe's gauge sits. */
shot_status knees_find(const shot_recipe *recipe, const shot_brew *brew, shot_truth_list *list);

#endif
