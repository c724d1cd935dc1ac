/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches of one channel in which its sensor was clipped or stuck.
 *
 * A run of one value is a flat stretch if the channel, by its noise and its other runs, would show
 * one so long in fewer than one of `rarity` records, or if motion went on behind it (see
 * signal/value_runs.h).  It is clipped if it lies at the highest or lowest value of the record,
 * else stuck.  Two things that honest sensors do are left out: within a twentieth of the range from
 * 0 a sensor is at rest, and what only adds up (an integral) comes to rest anywhere; there motion
 * missed is the only evidence.  (Common practice, no source.) */
#ifndef SHOT_SIGNAL_FLAT_FINDER_H
#define SHOT_SIGNAL_FLAT_FINDER_H

#include <shottrace/signal/value_runs.h>

typedef enum flat_kind { FLAT_NONE, FLAT_CLIP, FLAT_STUCK } flat_kind;

typedef struct flat_finder {
    shot_value_runs *runs; /* owned; NULL: nothing is looked for */
    bool adds_up;
    double rarity;
} flat_finder;

/* A finder that is all zero finds nothing and takes no samples.  SHOT_ERR_MEMORY. */
shot_status flat_finder_begin(flat_finder *finder, double rarity, bool adds_up);

/* Samples t, y [n] that have a value. */
void flat_finder_push(flat_finder *finder, const double *t, const double *y, size_t n);

/* There are no more samples: how many runs there are to judge. */
size_t flat_finder_finish(flat_finder *finder);

/* What run i is. */
flat_kind flat_finder_judge(const flat_finder *finder, size_t i);

/* Forget all samples. */
void flat_finder_reset(flat_finder *finder);
void flat_finder_free(flat_finder *finder);

#endif
