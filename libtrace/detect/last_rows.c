/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last seconds of a running shot. */
#include "detect/last_rows.h"

#include <stdlib.h>

shot_status shot_last_rows(const shot_table *shot, double seconds, shot_table *out) {
    const double *t = shot->rows.column[0];
    size_t n = shot->rows.rows, first = n - 1;
    while (first > 0 && t[first - 1] >= t[n - 1] - seconds)
        first--;
    *out = *shot;
    out->rows.rows = n - first;
    out->rows.column = malloc(shot->rows.columns * sizeof *out->rows.column);
    if (out->rows.column == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 0; c < shot->rows.columns; c++)
        out->rows.column[c] = shot->rows.column[c] + first;
    return SHOT_OK;
}

void shot_last_rows_free(shot_table *last) {
    free(last->rows.column);
    last->rows.column = NULL;
}
