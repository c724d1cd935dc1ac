/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings in blocks, by least squares. */
#include <shottrace/signal/two_way.h>

#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/least_squares.h>

#include "signal/block_centre.h"

/* One of the two ways in which values are sorted. */
typedef struct way {
    const size_t *of; /* [n]; NULL: all of one */
    size_t count;
    double *level;  /* [count], over that of the first of the way with columns */
    double *values; /* [count] how many values each is of */
} way;

/* The way with fewer levels has a column for each but the first; those of the other way are taken
 * off as means.  So the work grows with the square of the smaller number alone. */
typedef struct layout {
    const double *y;
    size_t n;
    way settings, blocks;
    way *columns, *means;
    double *design, *value, *fitted, *v, *mean, *seen;
} layout;

static size_t columns_of(const layout *l) {
    return l->columns->count - 1;
}

static size_t at(const way *w, size_t i) {
    return w->of == NULL ? 0 : w->of[i];
}

static bool is_within(const way *w, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (at(w, i) >= w->count)
            return false;
    return true;
}

/* Counts the values.  Every level needs one. */
static bool has_all(way *w, size_t n) {
    for (size_t i = 0; i < n; i++)
        w->values[at(w, i)]++;
    for (size_t k = 0; k < w->count; k++)
        if (w->values[k] == 0)
            return false;
    return true;
}

/* A last row of zeros that is to give 1 moves no parameter, and leaves a scatter to divide the
 * covariance by, however few the values are. */
static void fill_design(layout *l) {
    const size_t rows = l->n + 1, *means = l->means->of;
    for (size_t i = 0; i < l->n; i++) {
        if (at(l->columns, i) > 0)
            l->design[(at(l->columns, i) - 1) * rows + i] = 1;
        l->value[i] = l->y[i];
    }
    for (size_t k = 0; k < columns_of(l); k++)
        centre_in_blocks(l->design + k * rows, means, l->means->count, l->n, l->mean, l->seen);
    centre_in_blocks(l->value, means, l->means->count, l->n, l->mean, l->seen);
    l->value[l->n] = 1;
}

/* Those of the other way are the means of what their values have above the columns. */
static void find_levels(layout *l) {
    l->columns->level[0] = 0;
    for (size_t k = 0; k < columns_of(l); k++)
        l->columns->level[k + 1] = l->fitted[k];
    for (size_t k = 0; k < l->means->count; k++)
        l->means->level[k] = 0;
    for (size_t i = 0; i < l->n; i++) {
        const size_t k = at(l->means, i);
        l->means->level[k] +=
            (l->y[i] - l->columns->level[at(l->columns, i)]) / l->means->values[k];
    }
}

static double squares_left(const layout *l) {
    double squares = 0;
    for (size_t i = 0; i < l->n; i++) {
        const double left =
            l->y[i] - l->settings.level[at(&l->settings, i)] - l->blocks.level[at(&l->blocks, i)];
        squares += left * left;
    }
    return squares;
}

/* To the average block. */
static void hand_over(const layout *l, double *level, double *shift) {
    double average = 0;
    for (size_t k = 0; k < l->blocks.count; k++)
        average += l->blocks.level[k] * l->blocks.values[k] / (double)l->n;
    for (size_t k = 0; k < l->settings.count; k++)
        level[k] = l->settings.level[k] + average;
    for (size_t k = 0; k < l->blocks.count && shift != NULL; k++)
        shift[k] = l->blocks.level[k] - average;
}

static size_t highest(const double *level, size_t settings) {
    size_t top = 0;
    for (size_t i = 1; i < settings; i++)
        top = level[i] > level[top] ? i : top;
    return top;
}

/* The variance of a difference of the columns with these weights, over that of a value. */
static double variance_of(const layout *l, const double *weights, double sd) {
    const size_t columns = columns_of(l);
    double sum = 0;
    for (size_t i = 0; i < columns; i++)
        for (size_t k = 0; k < columns && weights[i] != 0; k++)
            sum += weights[i] * weights[k] * l->v[i * columns + k];
    return sum / (sd * sd);
}

/* Settings that have columns differ by these; those that are means, by their values, and by what
 * the columns of the blocks in which they have them add. */
static void weigh(const layout *l, size_t setting, double sign, double *weights) {
    if (l->columns == &l->settings) {
        if (setting > 0)
            weights[setting - 1] += sign;
        return;
    }
    for (size_t i = 0; i < l->n; i++)
        if (at(&l->settings, i) == setting && at(&l->blocks, i) > 0)
            weights[at(&l->blocks, i) - 1] -= sign / l->settings.values[setting];
}

static void spread_about_highest(const layout *l, double sd, double *weights, double *spread) {
    const size_t top = highest(l->settings.level, l->settings.count);
    for (size_t i = 0; i < l->settings.count; i++) {
        for (size_t k = 0; k < columns_of(l); k++)
            weights[k] = 0;
        weigh(l, i, 1, weights);
        weigh(l, top, -1, weights);
        spread[i] = variance_of(l, weights, sd);
        if (l->means == &l->settings && i != top)
            spread[i] += 1 / l->settings.values[i] + 1 / l->settings.values[top];
    }
}

static shot_status solve(layout *l, double *work, double *level, double *shift, double *spread,
                         double *rest, double *df) {
    shot_least_squares summary = {.sd = 1};
    fill_design(l);
    if (columns_of(l) > 0)
        SHOT_TRY(shot_least_squares_fit(l->design, l->value, l->n + 1, columns_of(l), work,
                                        l->fitted, l->v, &summary));
    find_levels(l);
    hand_over(l, level, shift);
    if (spread != NULL)
        spread_about_highest(l, summary.sd, l->fitted, spread);
    *rest = squares_left(l);
    *df = (double)(l->n - columns_of(l) - l->means->count);
    return SHOT_OK;
}

static shot_status fit(layout *l, double *level, double *shift, double *spread, double *rest,
                       double *df) {
    const size_t columns = columns_of(l), rows = l->n + 1;
    double *room = calloc(rows * (columns + 1) + columns + columns * columns + 2 * l->means->count +
                              shot_least_squares_workspace(rows, columns),
                          sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    l->design = room;
    l->value = l->design + rows * columns;
    l->fitted = l->value + rows;
    l->v = l->fitted + columns;
    l->mean = l->v + columns * columns;
    l->seen = l->mean + l->means->count;
    const shot_status status = solve(l, l->seen + l->means->count, level, shift, spread, rest, df);
    free(room);
    return status;
}

/* Of one block the levels are plain means. */
static void find_means(layout *l, double *level, double *shift, double *spread, double *rest,
                       double *df) {
    const double *count = l->settings.values;
    const size_t settings = l->settings.count;
    for (size_t k = 0; k < settings; k++)
        level[k] = 0;
    for (size_t i = 0; i < l->n; i++)
        level[at(&l->settings, i)] += l->y[i] / count[at(&l->settings, i)];
    *rest = 0;
    for (size_t i = 0; i < l->n; i++) {
        const double left = l->y[i] - level[at(&l->settings, i)];
        *rest += left * left;
    }
    *df = (double)(l->n - settings);
    if (shift != NULL)
        shift[0] = 0;
    const size_t top = highest(level, settings);
    for (size_t k = 0; k < settings && spread != NULL; k++)
        spread[k] = k == top ? 0 : 1 / count[k] + 1 / count[top];
}

shot_status shot_two_way_fit(const double *y, const size_t *setting, size_t settings,
                             const size_t *block, size_t blocks, size_t n, double *level,
                             double *shift, double *spread, double *rest, double *df) {
    layout l = {.y = y,
                .n = n,
                .settings = {.of = setting, .count = settings},
                .blocks = {.of = block, .count = block == NULL ? 1 : blocks}};
    if (settings == 0 || l.blocks.count == 0 || !is_within(&l.settings, n) ||
        !is_within(&l.blocks, n))
        return SHOT_ERR_RANGE;
    if (n < settings - 1 + l.blocks.count)
        return SHOT_ERR_SINGULAR;
    const bool by_blocks = l.blocks.count < settings;
    l.columns = by_blocks ? &l.blocks : &l.settings;
    l.means = by_blocks ? &l.settings : &l.blocks;
    double *room = calloc(2 * (settings + l.blocks.count), sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    l.settings.level = room;
    l.settings.values = l.settings.level + settings;
    l.blocks.level = l.settings.values + settings;
    l.blocks.values = l.blocks.level + l.blocks.count;
    shot_status status =
        has_all(&l.settings, n) && has_all(&l.blocks, n) ? SHOT_OK : SHOT_ERR_RANGE;
    if (status == SHOT_OK && l.blocks.count == 1)
        find_means(&l, level, shift, spread, rest, df);
    else if (status == SHOT_OK)
        status = fit(&l, level, shift, spread, rest, df);
    free(room);
    return status;
}
