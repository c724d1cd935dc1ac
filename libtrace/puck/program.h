/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The machine and its program for each style.  Internal to puck/. */
#ifndef SHOT_PUCK_PROGRAM_H
#define SHOT_PUCK_PROGRAM_H

#include <shottrace/puck/recipe.h>

#include "puck/draw.h"

/* Change what the style needs in `recipe` and write its program. */
shot_status draw_program(struct draw *draw, shot_recipe *recipe);

#endif
