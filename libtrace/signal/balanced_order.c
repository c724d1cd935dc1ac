/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/signal/balanced_order.h>

#include <stdlib.h>

void shot_shuffle(size_t *items, size_t count, shot_random *random) {
    for (size_t i = count; i > 1; i--) {
        const size_t k = (size_t)shot_random_below(random, i), keep = items[k];
        items[k] = items[i - 1];
        items[i - 1] = keep;
    }
}

/* Place `place` of a row of Williams' square of k: 0, 1, k - 1, 2, k - 2, ..., all raised by the
 * row; rows from k on are those before them, read backwards. */
static size_t of_square(size_t k, size_t row, size_t place) {
    const size_t at = row < k ? place : k - 1 - place;
    const size_t first = at % 2 == 1 ? (at + 1) / 2 : (k - at / 2) % k;
    return (first + row % k) % k;
}

static void fill(size_t k, size_t rounds, size_t rows, const size_t *name, size_t *row,
                 shot_random *random, size_t *order) {
    for (size_t round = 0; round < rounds; round++) {
        if (round % rows == 0)
            shot_shuffle(row, rows, random);
        for (size_t place = 0; place < k; place++)
            order[round * k + place] = name[of_square(k, row[round % rows], place)];
    }
}

shot_status shot_balanced_order(size_t settings, size_t rounds, shot_random *random,
                                size_t *order) {
    if (settings == 0)
        return SHOT_ERR_RANGE;
    const size_t rows = settings % 2 == 0 ? settings : 2 * settings;
    size_t *name = malloc(settings * sizeof *name), *row = malloc(rows * sizeof *row);
    const shot_status status = name != NULL && row != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        for (size_t i = 0; i < settings; i++)
            name[i] = i;
        for (size_t i = 0; i < rows; i++)
            row[i] = i;
        shot_shuffle(name, settings, random);
        fill(settings, rounds, rows, name, row, random, order);
    }
    free(name);
    free(row);
    return status;
}
