/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier over a running median. */
#include <shottrace/signal/hampel.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/running_median.h>

struct shot_hampel {
    shot_running_median *running;
    double threshold, floor;
};

shot_status shot_hampel_new(const shot_hampel_rule *rule, shot_hampel **out) {
    *out = NULL;
    if (!(rule->threshold >= 0) || !(rule->floor >= 0))
        return SHOT_ERR_RANGE;
    shot_hampel *hampel = calloc(1, sizeof *hampel);
    if (hampel == NULL)
        return SHOT_ERR_MEMORY;
    hampel->threshold = rule->threshold;
    hampel->floor = rule->floor;
    const shot_status status =
        shot_running_median_new(rule->reach, SHOT_MISSING_SERVED, true, &hampel->running);
    if (status != SHOT_OK) {
        free(hampel);
        return status;
    }
    *out = hampel;
    return SHOT_OK;
}

void shot_hampel_free(shot_hampel *hampel) {
    if (hampel != NULL)
        shot_running_median_free(hampel->running);
    free(hampel);
}

void shot_hampel_reset(shot_hampel *hampel) {
    shot_running_median_reset(hampel->running);
}

shot_status shot_hampel_push(shot_hampel *hampel, double t, double y) {
    return shot_running_median_push(hampel->running, t, y);
}

void shot_hampel_finish(shot_hampel *hampel) {
    shot_running_median_finish(hampel->running);
}

shot_status shot_hampel_next(shot_hampel *hampel, shot_hampel_at *at, bool *ready) {
    shot_median_at median;
    SHOT_TRY(shot_running_median_next(hampel->running, &median, ready));
    if (!*ready)
        return SHOT_OK;
    const double scale = fmax(SHOT_MAD_TO_SD * median.mad, hampel->floor);
    *at = (shot_hampel_at){
        .t = median.t,
        .value = median.value,
        .median = median.median,
        .scale = scale,
        .n = median.n,
        .spike = fabs(median.value - median.median) > hampel->threshold * scale,
    };
    return SHOT_OK;
}
