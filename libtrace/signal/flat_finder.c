/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clipped and stuck stretches. */
#include "signal/flat_finder.h"

#include <math.h>

static const double rest = 0.05; /* of the range from 0 */

shot_status flat_finder_begin(flat_finder *finder, double rarity, bool adds_up) {
    *finder = (flat_finder){.adds_up = adds_up, .rarity = rarity};
    return rarity > 0 ? shot_value_runs_new(&finder->runs) : SHOT_OK;
}

void flat_finder_free(flat_finder *finder) {
    shot_value_runs_free(finder->runs);
    *finder = (flat_finder){0};
}

void flat_finder_reset(flat_finder *finder) {
    if (finder->runs != NULL)
        shot_value_runs_reset(finder->runs);
}

void flat_finder_push(flat_finder *finder, const double *t, const double *y, size_t n) {
    if (finder->runs != NULL)
        shot_value_runs_push_block(finder->runs, t, y, n);
}

size_t flat_finder_finish(flat_finder *finder) {
    if (finder->runs == NULL)
        return 0;
    shot_value_runs_finish(finder->runs);
    return shot_value_runs_count(finder->runs);
}

flat_kind flat_finder_judge(const flat_finder *finder, size_t i) {
    const shot_value_run *run = shot_value_runs_at(finder->runs, i);
    double low, high;
    shot_value_runs_range(finder->runs, &low, &high);
    if (fabs(run->value) <= rest * fmax(fabs(low), fabs(high)))
        return FLAT_NONE;
    if (run->missed)
        return FLAT_STUCK;
    if (finder->adds_up || !(shot_value_runs_expected(finder->runs, i) * finder->rarity < 1))
        return FLAT_NONE;
    return run->value == high || run->value == low ? FLAT_CLIP : FLAT_STUCK;
}
