/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep over several days: repeats of one day do not show how far days lie apart. */
#include <math.h>
#include <stdlib.h>

#include "judge/sweep_parts.h"

/* Less than this of how far the settings lie apart within days, and what a day does looks like the
 * setting's doing (common practice, no source). */
static const double mostly_within = 0.5;

static size_t day_of(const shot_sweep_result *result, size_t point) {
    return result->groups.day[result->points.shot[point]];
}

/* The sum of squares of the settings about their mean over the points of a day, or of all. */
static double squares_of(const shot_sweep_result *result, size_t day, bool all) {
    const shot_sweep_points *p = &result->points;
    double count = 0, mean = 0, squares = 0;
    for (size_t i = 0; i < p->count; i++) {
        if (!all && day_of(result, i) != day)
            continue;
        const double step = p->setting[i] - mean;
        mean += step / ++count;
        squares += step * (p->setting[i] - mean);
    }
    return squares;
}

bool shot_sweep_is_by_day(const shot_sweep_result *result) {
    const shot_compare_groups *groups = &result->groups;
    double within = 0;
    if (!groups->by_clock || groups->days < 2)
        return false;
    for (size_t day = 0; day < groups->days; day++)
        within += squares_of(result, day, false);
    return within < mostly_within * squares_of(result, 0, true);
}

/* Both of one setting, and of one day or block. */
static bool are_one(const shot_sweep_points *p, const size_t *by, size_t i, size_t j) {
    return by[p->shot[i]] == by[p->shot[j]] && p->setting[i] == p->setting[j];
}

static void fill_means(const shot_sweep_points *p, const size_t *by, shot_sweep_means *out) {
    for (size_t i = 0; i < p->count; i++) {
        bool first = true;
        double n = 0, sum_x = 0, sum_y = 0;
        for (size_t j = 0; j < p->count; j++) {
            if (!are_one(p, by, i, j))
                continue;
            first = first && j >= i;
            n++;
            sum_x += p->x[j];
            sum_y += p->y[j];
        }
        if (!first)
            continue;
        out->x[out->count] = sum_x / n;
        out->block[out->count] = p->block[i];
        out->y[out->count++] = sum_y / n;
    }
}

shot_status shot_sweep_take_means(const shot_sweep_result *result, const size_t *by,
                                  shot_sweep_means *out) {
    const size_t room = result->points.count + 1;
    *out = (shot_sweep_means){malloc(room * sizeof *out->x), malloc(room * sizeof *out->y),
                              malloc(room * sizeof *out->block), 0};
    if (out->x == NULL || out->y == NULL || out->block == NULL)
        return SHOT_ERR_MEMORY;
    fill_means(&result->points, by, out);
    return SHOT_OK;
}

void shot_sweep_free_means(shot_sweep_means *means) {
    free(means->x);
    free(means->y);
    free(means->block);
}
