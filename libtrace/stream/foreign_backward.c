/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables whose latest row comes first. */
#include "stream/foreign_backward.h"

shot_status shot_foreign_backward(const shot_foreign_clock *clock, const shot_held_records *rows,
                                  shot_foreign_cells *cells, bool *backward) {
    shot_foreign_clock own = *clock;
    double before = 0;
    size_t falls = 0, rises = 0, read = 0;
    *backward = false;
    if (clock->column == SHOT_NO_COLUMN)
        return SHOT_OK;
    for (size_t i = 0; i < rows->count; i++) {
        shot_decimal seconds;
        shot_clock_leap leap;
        bool readable = rows->items[i].count > own.column;
        if (readable)
            SHOT_TRY(shot_foreign_clock_read(&own, &rows->items[i], cells, &seconds, &leap,
                                             &readable, NULL));
        if (!readable)
            continue;
        const double time = shot_decimal_value(&seconds);
        falls += read > 0 && time < before;
        rises += read > 0 && time > before;
        before = time;
        read++;
    }
    *backward = rises == 0 && 2 * falls > rows->count;
    return SHOT_OK;
}

static void reverse(shot_held_records *list) {
    for (size_t i = 0; i < list->count / 2; i++) {
        const shot_record one = list->items[i];
        list->items[i] = list->items[list->count - 1 - i];
        list->items[list->count - 1 - i] = one;
    }
}

void shot_foreign_turn_round(shot_held_records *rows, shot_held_records *lines) {
    reverse(rows);
    reverse(lines);
    for (size_t i = 0; i < lines->count; i++)
        lines->items[i].line = rows->count - lines->items[i].line;
}
