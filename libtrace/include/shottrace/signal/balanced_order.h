/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order in which settings are tried: in rounds, each with every setting once, so that what
 * changes with the hour meets all of them alike; drawn by lot; and such that each setting comes
 * equally often behind each other one of its round, as grounds and warmth of a shot are left to the
 * next.
 * Source: Williams 1949, 'Experimental designs balanced for the estimation of residual effects of
 * treatments', Aust. J. Sci. Res. A 2:149-168: k settings are balanced in k rounds where k is even,
 * in 2 k where it is odd.  Rounds and names of the settings are drawn (Fisher 1935, ch. 4).
 */
#ifndef SHOTTRACE_SIGNAL_BALANCED_ORDER_H
#define SHOTTRACE_SIGNAL_BALANCED_ORDER_H

#include <stddef.h>

#include <shottrace/signal/random.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Fill `order` with settings 0..settings - 1, round after round [rounds * settings].
 * Returns SHOT_OK; SHOT_ERR_RANGE without settings; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_balanced_order(size_t settings, size_t rounds, shot_random *random,
                                         size_t *order);

/* Shuffle `items` [count] (Fisher & Yates; Knuth, 'The Art of Computer Programming' 2, 3.4.2). */
SHOT_API void shot_shuffle(size_t *items, size_t count, shot_random *random);

#ifdef __cplusplus
}
#endif
#endif
