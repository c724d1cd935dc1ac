/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Records that outlive the call that brought them: one allocation each, for the list of cells, the
 * texts of the cells and the whole text. */
#include "stream/held_records.h"

#include <stdlib.h>
#include <string.h>

#include "room.h"

static char *copy_bytes(char *to, const char *from, size_t count) {
    if (count > 0)
        memcpy(to, from, count);
    return to + count;
}

shot_status shot_held_records_add(shot_held_records *held, const shot_record *record) {
    shot_record *items = room_for_more(held->items, held->count, &held->room, 16, sizeof *items);
    if (items == NULL)
        return SHOT_ERR_MEMORY;
    held->items = items;
    size_t bytes = record->length;
    for (size_t i = 0; i < record->count; i++)
        bytes += record->cells[i].length;
    shot_cell *cells = malloc(record->count * sizeof *cells + bytes + 1);
    if (cells == NULL)
        return SHOT_ERR_MEMORY;
    char *text = (char *)(cells + record->count);
    shot_record *copy = &held->items[held->count++];
    *copy = *record;
    copy->cells = cells;
    copy->text = text;
    text = copy_bytes(text, record->text, record->length);
    for (size_t i = 0; i < record->count; i++) {
        cells[i] = (shot_cell){text, record->cells[i].length};
        text = copy_bytes(text, record->cells[i].text, record->cells[i].length);
    }
    return SHOT_OK;
}

void shot_held_records_clear(shot_held_records *held) {
    for (size_t i = 0; i < held->count; i++)
        free((void *)held->items[i].cells);
    held->count = 0;
}

void shot_held_records_free(shot_held_records *held) {
    shot_held_records_clear(held);
    free(held->items);
    *held = (shot_held_records){0};
}
