/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Savitzky-Golay weights by window length and place, computed once each. */
#ifndef SHOT_SIGNAL_SAVGOL_CACHE_H
#define SHOT_SIGNAL_SAVGOL_CACHE_H

#include <stddef.h>

#include <shottrace/status.h>

typedef struct shot_savgol_entry {
    double *weights; /* [n], NULL while not computed */
    double gain;
} shot_savgol_entry;

typedef struct shot_savgol_cache {
    size_t order, derivative;
    struct shot_savgol_row {
        shot_savgol_entry *places; /* [n] */
    } * lengths;                   /* [longest + 1] */
    size_t longest;
} shot_savgol_cache;

/* The weights of n evenly spaced samples at sample `place` of them, for spacing 1; NULL when out of
 * memory or where the order leaves nothing to fit. */
const shot_savgol_entry *shot_savgol_cached(shot_savgol_cache *cache, size_t n, size_t place);
void shot_savgol_cache_free(shot_savgol_cache *cache);

#endif
