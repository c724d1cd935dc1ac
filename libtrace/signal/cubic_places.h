/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the monotone cubic needs that depends on the times alone, kept for the next channel, which
 * mostly has the same. */
#ifndef SHOT_SIGNAL_CUBIC_PLACES_H
#define SHOT_SIGNAL_CUBIC_PLACES_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

/* Places, and the samples among which they lie. */
typedef struct held_places {
    double *t;  /* [n], and behind them the places [m]     owned, `room` numbers */
    size_t *of; /* [m]     owned, `of_room` numbers */
    size_t n, m, room, of_room;
} held_places;

/* A few, since a block of rows may be brought onto the grid in several turns.  A zeroed one holds
 * nothing. */
enum { CUBIC_PLACES_HELD = 4 };
typedef struct cubic_places {
    held_places held[CUBIC_PLACES_HELD];
    size_t next; /* to give way */
} cubic_places;

#define CUBIC_NOWHERE SIZE_MAX

/* The number of the sample at or before each of m places `at` among n times; CUBIC_NOWHERE before
 * the first and behind the last sample.  Valid until the next call; NULL where times do not rise or
 * places fall, one is not finite, or there is no memory. */
const size_t *cubic_places_find(cubic_places *places, const double *t, size_t n, const double *at,
                                size_t m);

void cubic_places_free(cubic_places *places);

/* shot_monotone_cubic with places that may be held, or NULL. */
shot_status monotone_cubic_with(cubic_places *places, const double *t, const double *y, size_t n,
                                const double *at, size_t m, double *value);

#endif
