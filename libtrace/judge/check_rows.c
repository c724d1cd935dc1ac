/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a log: how many, in which order they came, and which tell nothing of their own. */
#include <stdlib.h>
#include <string.h>

#include "judge/check_parts.h"
#include "puck/lost_rows.h"
#include "signal/row_bursts.h"

shot_status check_order(const shot_table *shot, check_list *out) {
    const double *t = shot->rows.column[0];
    size_t repeats = 0, falls = 0, near = 0;
    row_bursts bursts = {0};
    for (size_t i = 1; i < shot->rows.rows; i++) {
        repeats += t[i] == t[i - 1];
        falls += t[i] < t[i - 1];
        near += t[i] > t[i - 1] && t[i] - t[i - 1] <= bursts.near;
        if (t[i] >= t[i - 1])
            row_bursts_see(&bursts, t[i - 1], t[i]);
    }
    SHOT_TRY(check_list_add(out, "", "rows", "", (double)shot->rows.rows, NULL));
    SHOT_TRY(check_list_add(out, "", "times.repeated", "", (double)repeats,
                            repeats > 0 ? "shot-clean mends them" : NULL));
    SHOT_TRY(check_list_add(out, "", "times.falling", "", (double)falls,
                            falls > 0 ? "shot-clean mends them" : NULL));
    return check_list_add(out, "", "times.near", "", (double)near,
                          near > 0 ? "rows come several at once, and their times are those of "
                                     "their arrival: shot-clean makes one of them"
                                   : NULL);
}

typedef struct place {
    double time;
    size_t row;
} place;

static int by_time(const void *a, const void *b) {
    const place *x = a, *y = b;
    if (x->time != y->time)
        return x->time < y->time ? -1 : 1;
    return (x->row > y->row) - (x->row < y->row);
}

shot_status check_put_in_order(shot_rows *rows) {
    if (rows->rows == 0)
        return SHOT_OK;
    place *places = malloc(rows->rows * sizeof *places);
    double *column = malloc(rows->rows * sizeof *column);
    size_t kept = 0;
    for (size_t i = 0; places != NULL && i < rows->rows; i++)
        places[i] = (place){rows->column[0][i], i};
    if (places != NULL && column != NULL) {
        qsort(places, rows->rows, sizeof *places, by_time);
        for (size_t i = 0; i < rows->rows; i++)
            if (i == 0 || places[i].time > places[kept - 1].time)
                places[kept++] = places[i];
        for (size_t c = 0; c < rows->columns; c++) {
            for (size_t i = 0; i < kept; i++)
                column[i] = rows->column[c][places[i].row];
            memcpy(rows->column[c], column, kept * sizeof *column);
        }
        rows->rows = kept;
    }
    const bool fine = places != NULL && column != NULL;
    free(places);
    free(column);
    return fine ? SHOT_OK : SHOT_ERR_MEMORY;
}

shot_status check_repeats(const shot_table *shot, check_list *out) {
    bool *frozen = malloc(shot->rows.rows + 1);
    if (frozen == NULL)
        return SHOT_ERR_MEMORY;
    const size_t count = lost_rows_find(shot, frozen);
    free(frozen);
    return check_list_add(out, "", "rows.frozen", "", (double)count,
                          count > 0 ? "they say again what the row before said, and then all "
                                      "leaps, or say zero between two rows that agree: the logger "
                                      "had lost its sensors, and detectors leave these rows out"
                                    : NULL);
}
