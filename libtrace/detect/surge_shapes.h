/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shapes that an opening may have. */
#ifndef SHOT_DETECT_SURGE_SHAPES_H
#define SHOT_DETECT_SURGE_SHAPES_H

#include "detect/conductance.h"

enum {
    SURGE_LENGTHS = 12,
    SURGE_AFTERS = 4,                          /* it stays, or heals: quickly, slowly, or by half */
    SURGE_FORMS = 3 * SURGE_AFTERS,            /* even, sharp or gentle */
    SURGE_SHAPES = SURGE_LENGTHS * SURGE_FORMS /* fill CONDUCTANCE_LANES evenly */
};

/* A number below SURGE_SHAPES as an opening. */
conductance_opening surge_shape(size_t number, double onset, double drain);

/* Let what comes after an opening be that of a number below SURGE_AFTERS. */
void surge_shape_after(size_t number, conductance_opening *opening);

/* Their lengths, s; closer together where they are short. */
extern const double surge_lengths[SURGE_LENGTHS];

/* Lengths of losses that take longer, s, and how far apart their onsets are tried. */
enum { SURGE_SLOW_LENGTHS = 4 };
extern const double surge_slow_lengths[SURGE_SLOW_LENGTHS];
static const double surge_slow_step = 0.25;

/* A typical time in which what leaves the bed drains from basket and spout, s; a few tenths of a
 * second, common practice, no source.  And the longest: until then a scale shows what left the
 * bed. */
extern const double surge_drain, surge_longest_drain;

/* s that a loss takes at most; the contract's. */
static const double surge_longest = 2;

/* Times over which a flow meter may count, s; the first is none. */
enum { SURGE_GATES = 3 };
extern const double surge_gates[SURGE_GATES];

#endif
