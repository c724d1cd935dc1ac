/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings in blocks, by least squares. */
#include <shottrace/signal/two_way.h>

#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/least_squares.h>

typedef struct layout {
    const double *y;
    const size_t *setting, *block;
    size_t settings, blocks, n;
    double *design, *value, *b, *v; /* a column for each setting and each block but the first */
} layout;

static size_t columns_of(const layout *l) {
    return l->settings + l->blocks - 1;
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
        const size_t block = block_at(l, i);
        l->design[l->setting[i] * rows + i] = 1;
        if (block > 0)
            l->design[(l->settings + block - 1) * rows + i] = 1;
        l->value[i] = l->y[i];
    }
    l->value[l->n] = 1;
}

/* What the block adds to the level of the first one. */
static double added(const layout *l, size_t block) {
    return block > 0 ? l->b[l->settings + block - 1] : 0;
}

/* From the first block to the average one. */
static void move_to_average(const layout *l, double *level, double *shift) {
    double average = 0;
    for (size_t i = 0; i < l->n; i++)
        average += added(l, block_at(l, i)) / (double)l->n;
    for (size_t k = 0; k < l->settings; k++)
        level[k] = l->b[k] + average;
    for (size_t k = 0; k < l->blocks && shift != NULL; k++)
        shift[k] = added(l, k) - average;
}

static double squares_left(const layout *l) {
    double squares = 0;
    for (size_t i = 0; i < l->n; i++) {
        const double left = l->y[i] - l->b[l->setting[i]] - added(l, block_at(l, i));
        squares += left * left;
    }
    return squares;
}

static shot_status fit(layout *l, double *work, double *level, double *shift, double *spread,
                       double *rest, double *df) {
    const size_t columns = columns_of(l);
    shot_least_squares summary;
    fill_design(l);
    SHOT_TRY(
        shot_least_squares_fit(l->design, l->value, l->n + 1, columns, work, l->b, l->v, &summary));
    move_to_average(l, level, shift);
    for (size_t i = 0; i < l->settings && spread != NULL; i++)
        for (size_t k = 0; k < l->settings; k++)
            spread[i * l->settings + k] = l->v[i * columns + k] / (summary.sd * summary.sd);
    *rest = squares_left(l);
    *df = (double)(l->n - columns);
    return SHOT_OK;
}

shot_status shot_two_way_fit(const double *y, const size_t *setting, size_t settings,
                             const size_t *block, size_t blocks, size_t n, double *level,
                             double *shift, double *spread, double *rest, double *df) {
    layout l = {.y = y, .setting = setting, .block = block, .settings = settings, .n = n};
    l.blocks = block == NULL ? 1 : blocks;
    if (settings == 0 || l.blocks == 0 || !is_within(&l))
        return SHOT_ERR_RANGE;
    const size_t columns = columns_of(&l), rows = n + 1;
    if (n < columns)
        return SHOT_ERR_SINGULAR;
    double *room = calloc(rows * (columns + 1) + columns + columns * columns + columns + 1 +
                              shot_least_squares_workspace(rows, columns),
                          sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    l.design = room;
    l.value = l.design + rows * columns;
    l.b = l.value + rows;
    l.v = l.b + columns;
    double *count = l.v + columns * columns, *work = count + columns + 1;
    const shot_status status =
        !has_all(&l, count) ? SHOT_ERR_RANGE : fit(&l, work, level, shift, spread, rest, df);
    free(room);
    return status;
}
