/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A brew at a pressure at which others pre-wet: told while samples arrive, by the cup.
 *
 * A level of 1 to 5.5 bar may be a pre-wetting or the brew (detect/brewing.h), and at first nothing
 * tells them apart.  It is the brew's when the first drop has been told, 3 g more have run into the
 * cup since, and the puck has kept 60 % of the level for 3 s, with water running where a meter
 * tells.  A pre-wetting that lets more through is told as a brew until the pressure rises. */
#ifndef SHOT_DETECT_LIVE_LOW_BREW_H
#define SHOT_DETECT_LIVE_LOW_BREW_H

#include <shottrace/trace/table.h>

#include "detect/live_plateau.h"
#include "detect/live_water.h"

/* Set as live_plateau asks, for all levels; all else zero. */
typedef struct live_low_brew {
    live_plateau plateau;
    double since; /* s since when the puck has kept the level, with water */
    double cup;   /* g, when the first drop was told; */
    bool drips;   /* it was */
} live_low_brew;

/* After each row; `in` tells the columns and their rests, `drips` whether the first drop is told.
 * True if the level is told now as the brew's: low->plateau. */
bool live_low_brew_look(live_low_brew *low, const shot_table *shot, const live_water *in,
                        bool drips);

/* Is the puck held at that level, so that it soaks, or brews?  It has kept it for a second. */
bool live_low_brew_holds(const live_low_brew *low, double now);

#endif
