/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole shots, kept as they come. */
#include <shottrace/trace/table_list.h>

#include <stdlib.h>

#include "lack_of_memory.h"

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the shots", error);
}

static shot_table_list *shots_of(shot_sink *sink) {
    return &((shot_table_collector *)sink)->shots;
}

static shot_table *last_of(shot_sink *sink) {
    return shots_of(sink)->items[shots_of(sink)->count - 1];
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    shot_table_list *shots = shots_of(sink);
    if ((shots->count & (shots->count + 1)) == 0) { /* 0, 1, 3, 7: make room for twice as many */
        shot_table **items = realloc(shots->items, (2 * shots->count + 1) * sizeof *items);
        if (items == NULL)
            return checked(SHOT_ERR_MEMORY, error);
        shots->items = items;
    }
    shot_table *shot = calloc(1, sizeof *shot);
    if (shot == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    shots->items[shots->count++] = shot;
    return checked(shot_table_begin(shot, head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(last_of(sink), block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(last_of(sink), one), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(last_of(sink), one), error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    last_of(sink)->cut = cut;
    return SHOT_OK;
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    shot_table_collector *self = (shot_table_collector *)sink;
    return self->done != NULL ? self->done(self->user, error) : SHOT_OK;
}

void shot_table_collector_init(shot_table_collector *collector) {
    static const shot_sink_calls calls = {
        .begin = begin, .rows = rows, .mark = mark, .line = line, .end = end, .close = close};
    *collector = (shot_table_collector){.sink = {&calls}};
}

void shot_table_collector_free(shot_table_collector *collector) {
    for (size_t i = 0; i < collector->shots.count; i++) {
        shot_table_free(collector->shots.items[i]);
        free(collector->shots.items[i]);
    }
    free(collector->shots.items);
    collector->shots = (shot_table_list){0};
}
