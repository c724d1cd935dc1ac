/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Savitzky-Golay weights by window length and place, computed once each. */
#include "signal/savgol_cache.h"

#include <stdlib.h>

#include <shottrace/signal/savgol.h>

static shot_status reach(shot_savgol_cache *cache, size_t n) {
    if (n <= cache->longest && cache->lengths != NULL)
        return SHOT_OK;
    struct shot_savgol_row *lengths = realloc(cache->lengths, (n + 1) * sizeof *lengths);
    if (lengths == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = cache->lengths ? cache->longest + 1 : 0; i <= n; i++)
        lengths[i].places = NULL;
    cache->lengths = lengths;
    cache->longest = n;
    return SHOT_OK;
}

const shot_savgol_entry *shot_savgol_cached(shot_savgol_cache *cache, size_t n, size_t place) {
    if (reach(cache, n) != SHOT_OK)
        return NULL;
    if (cache->lengths[n].places == NULL)
        cache->lengths[n].places = calloc(n, sizeof *cache->lengths[n].places);
    if (cache->lengths[n].places == NULL)
        return NULL;
    shot_savgol_entry *entry = &cache->lengths[n].places[place];
    if (entry->weights != NULL)
        return entry;
    double *weights = malloc(n * sizeof *weights);
    shot_savgol shape = {.left = place,
                         .right = n - 1 - place,
                         .order = cache->order,
                         .derivative = cache->derivative};
    if (weights == NULL || shot_savgol_weights(&shape, weights) != SHOT_OK) {
        free(weights);
        return NULL;
    }
    entry->weights = weights;
    entry->gain = shot_savgol_gain(weights, n);
    return entry;
}

void shot_savgol_cache_free(shot_savgol_cache *cache) {
    for (size_t n = 0; cache->lengths != NULL && n <= cache->longest; n++) {
        for (size_t p = 0; cache->lengths[n].places != NULL && p < n; p++)
            free(cache->lengths[n].places[p].weights);
        free(cache->lengths[n].places);
    }
    free(cache->lengths);
    cache->lengths = NULL;
    cache->longest = 0;
}
