/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings in blocks, by least squares. */
#include <shottrace/signal/two_way.h>

#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/least_squares.h>

#include "signal/block_centre.h"

typedef struct layout {
    const double *y;
    const size_t *setting, *block;
    size_t settings, blocks, n;
    /* a column for each setting but the first, about the means of blocks; `level` is over the first
     */
    double *design, *value, *level, *v, *block_level, *count;
} layout;

static size_t columns_of(const layout *l) {
    return l->settings - 1;
}

static size_t block_at(const layout *l, size_t i) {
    return l->block == NULL ? 0 : l->block[i];
}

static bool is_within(const layout *l) {
    for (size_t i = 0; i < l->n; i++)
        if (l->setting[i] >= l->settings || block_at(l, i) >= l->blocks)
            return false;
    return true;
}

/* Every block needs a value, and so do all settings.  `count` is 0 for as many as there are. */
static bool has_all(const layout *l, double *count) {
    for (size_t i = 0; i < l->n; i++) {
        count[l->setting[i]]++;
        count[l->settings + block_at(l, i)]++;
    }
    for (size_t k = 0; k < l->settings + l->blocks; k++)
        if (count[k] == 0)
            return false;
    return true;
}

/* A last row of zeros that is to give 1 moves no parameter, and leaves a scatter to divide the
 * covariance by, however few the values are. */
static void fill_design(layout *l) {
    const size_t rows = l->n + 1;
    for (size_t i = 0; i < l->n; i++) {
        if (l->setting[i] > 0)
            l->design[(l->setting[i] - 1) * rows + i] = 1;
        l->value[i] = l->y[i];
    }
    for (size_t k = 0; k < columns_of(l); k++)
        centre_in_blocks(l->design + k * rows, l->block, l->blocks, l->n, l->block_level, l->count);
    centre_in_blocks(l->value, l->block, l->blocks, l->n, l->block_level, l->count);
    l->value[l->n] = 1;
}

static double above_first(const layout *l, size_t setting) {
    return setting > 0 ? l->level[setting - 1] : 0;
}

/* That of a block is the mean of what its values have above their settings. */
static void find_block_levels(layout *l) {
    for (size_t k = 0; k < l->blocks; k++)
        l->block_level[k] = l->count[k] = 0;
    for (size_t i = 0; i < l->n; i++) {
        const size_t block = l->block[i];
        l->block_level[block] +=
            (l->y[i] - above_first(l, l->setting[i]) - l->block_level[block]) / ++l->count[block];
    }
}

/* From the first setting and each block to the average block. */
static void move_to_average(const layout *l, double *level, double *shift) {
    double average = 0;
    for (size_t k = 0; k < l->blocks; k++)
        average += l->block_level[k] * l->count[k] / (double)l->n;
    for (size_t k = 0; k < l->settings; k++)
        level[k] = above_first(l, k) + average;
    for (size_t k = 0; k < l->blocks && shift != NULL; k++)
        shift[k] = l->block_level[k] - average;
}

static double squares_left(const layout *l) {
    double squares = 0;
    for (size_t i = 0; i < l->n; i++) {
        const double left = l->y[i] - above_first(l, l->setting[i]) - l->block_level[l->block[i]];
        squares += left * left;
    }
    return squares;
}

static size_t highest(const double *level, size_t settings) {
    size_t top = 0;
    for (size_t i = 1; i < settings; i++)
        top = level[i] > level[top] ? i : top;
    return top;
}

/* The covariance of two levels over the first; 0 of the first itself. */
static double covariance_at(const layout *l, size_t i, size_t k) {
    return i > 0 && k > 0 ? l->v[(i - 1) * columns_of(l) + k - 1] : 0;
}

static void spread_about_highest(const layout *l, const double *level, double sd, double *spread) {
    const size_t top = highest(level, l->settings);
    for (size_t i = 0; i < l->settings; i++)
        spread[i] =
            (covariance_at(l, i, i) + covariance_at(l, top, top) - 2 * covariance_at(l, i, top)) /
            (sd * sd);
}

static shot_status solve(layout *l, double *work, double *level, double *shift, double *spread,
                         double *rest, double *df) {
    shot_least_squares summary = {.sd = 1};
    fill_design(l);
    if (columns_of(l) > 0)
        SHOT_TRY(shot_least_squares_fit(l->design, l->value, l->n + 1, columns_of(l), work,
                                        l->level, l->v, &summary));
    find_block_levels(l);
    move_to_average(l, level, shift);
    if (spread != NULL)
        spread_about_highest(l, level, summary.sd, spread);
    *rest = squares_left(l);
    *df = (double)(l->n - columns_of(l) - l->blocks);
    return SHOT_OK;
}

static shot_status fit(layout *l, double *level, double *shift, double *spread, double *rest,
                       double *df) {
    const size_t columns = columns_of(l), rows = l->n + 1;
    double *room = calloc(rows * (columns + 1) + columns + columns * columns + 2 * l->blocks +
                              shot_least_squares_workspace(rows, columns),
                          sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    l->design = room;
    l->value = l->design + rows * columns;
    l->level = l->value + rows;
    l->v = l->level + columns;
    l->block_level = l->v + columns * columns;
    l->count = l->block_level + l->blocks;
    const shot_status status = solve(l, l->count + l->blocks, level, shift, spread, rest, df);
    free(room);
    return status;
}

/* Of one block the levels are plain means; `count` has how many values each is of. */
static void find_means(const layout *l, const double *count, double *level, double *shift,
                       double *spread, double *rest, double *df) {
    for (size_t k = 0; k < l->settings; k++)
        level[k] = 0;
    for (size_t i = 0; i < l->n; i++)
        level[l->setting[i]] += l->y[i] / count[l->setting[i]];
    *rest = 0;
    for (size_t i = 0; i < l->n; i++)
        *rest += (l->y[i] - level[l->setting[i]]) * (l->y[i] - level[l->setting[i]]);
    *df = (double)(l->n - l->settings);
    if (shift != NULL)
        shift[0] = 0;
    const size_t top = highest(level, l->settings);
    for (size_t k = 0; k < l->settings && spread != NULL; k++)
        spread[k] = k == top ? 0 : 1 / count[k] + 1 / count[top];
}

shot_status shot_two_way_fit(const double *y, const size_t *setting, size_t settings,
                             const size_t *block, size_t blocks, size_t n, double *level,
                             double *shift, double *spread, double *rest, double *df) {
    layout l = {.y = y, .setting = setting, .block = block, .settings = settings, .n = n};
    l.blocks = block == NULL ? 1 : blocks;
    if (settings == 0 || l.blocks == 0 || !is_within(&l))
        return SHOT_ERR_RANGE;
    if (n < columns_of(&l) + l.blocks)
        return SHOT_ERR_SINGULAR;
    double *count = calloc(l.settings + l.blocks, sizeof *count);
    if (count == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = has_all(&l, count) ? SHOT_OK : SHOT_ERR_RANGE;
    if (status == SHOT_OK && l.blocks == 1)
        find_means(&l, count, level, shift, spread, rest, df);
    else if (status == SHOT_OK)
        status = fit(&l, level, shift, spread, rest, df);
    free(count);
    return status;
}
