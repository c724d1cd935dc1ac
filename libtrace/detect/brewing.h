/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tells a brew from what comes before it, for the whole shot as while it runs. */
#ifndef SHOT_DETECT_BREWING_H
#define SHOT_DETECT_BREWING_H

/* The definition of the first main plateau or peak (docs/format.md, "Kinds of mark"): its share of
 * the main run's maximum, the s for which it must not be exceeded, and of it what is called full.
 */
static const double shot_main_share = 0.6, shot_level_seconds = 3, shot_full_share = 0.95;

/* Common practice, no source. */
static const double shot_least_brew = 1;     /* bar: no phases are told by less */
static const double shot_brewing = 5.5;      /* bar: pre-wetting is held at less */
static const double shot_least_beverage = 1; /* g: less in the cup is no brew's */
static const double shot_brewed = 5;         /* s: less at pressure is no brew */
static const double shot_longest_fill = 8;   /* s that a basket takes to fill */
static const double shot_by_hand = 1; /* s between figures that a hand writes down, or more */

#endif
