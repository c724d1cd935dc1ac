/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two tables of one clock become one. */
#include "filter/join_rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "signal/channel_delay.h"
#include "trace/time_origin.h"

/* ---- head ---- */

static shot_status add_channel(shot_head *out, const shot_channel *channel) {
    shot_text name = {0};
    shot_status status = shot_text_add(&name, channel->name);
    for (size_t number = 2; status == SHOT_OK && shot_head_channel(out, name.bytes) >= 0;
         number++) {
        shot_text_clear(&name);
        status = shot_text_add_format(&name, "%s.%zu", channel->name, number);
    }
    if (status == SHOT_OK)
        status = shot_head_add_channel(out, name.bytes, channel->unit);
    shot_text_free(&name);
    return status;
}

/* The clock is that of `a`, and the history of `b` would read as if it had been done to all. */
static bool goes_along(const shot_head *a, const char *key) {
    static const char *const own[] = {"t0", "history", "noise"};
    for (size_t i = 0; key != NULL && i < sizeof own / sizeof *own; i++)
        if (strcmp(own[i], key) == 0)
            return false;
    return key == NULL || shot_head_value(a, key) == NULL;
}

/* A channel that got a suffix has left its noise line; the others keep theirs. */
static bool is_noise_of_kept(const shot_head *a, const shot_line *line) {
    if (line->key == NULL || strcmp(line->key, "noise") != 0)
        return false;
    for (size_t i = 0; i < a->channel_count; i++) {
        const size_t length = strlen(a->channels[i].name);
        if (strncmp(line->value, a->channels[i].name, length) == 0 && line->value[length] == ' ')
            return false;
    }
    return true;
}

static shot_status join_heads(const shot_head *a, const shot_head *b, shot_head *out) {
    SHOT_TRY(shot_head_copy(a, out));
    for (size_t i = 1; i < b->channel_count; i++)
        SHOT_TRY(add_channel(out, &b->channels[i]));
    for (size_t i = 0; i < b->line_count; i++)
        if (goes_along(a, b->lines[i].key) || is_noise_of_kept(a, &b->lines[i]))
            SHOT_TRY(shot_head_add_line(out, b->lines[i].key, b->lines[i].value));
    return SHOT_OK;
}

/* ---- rows ---- */

static void take(const shot_table *log, size_t row, double *values) {
    for (size_t c = 1; c < log->rows.columns; c++)
        values[c - 1] = log->rows.column[c][row];
}

static shot_status join_rows(const shot_table *a, const shot_table *b, shot_rows *out) {
    const size_t from_b = a->rows.columns;
    double *values = malloc(out->columns * sizeof *values);
    shot_status status = values != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    for (size_t i = 0, j = 0; status == SHOT_OK && (i < a->rows.rows || j < b->rows.rows);) {
        const double at_a = i < a->rows.rows ? a->rows.column[0][i] : INFINITY;
        const double at_b = j < b->rows.rows ? b->rows.column[0][j] : INFINITY;
        for (size_t c = 1; c < out->columns; c++)
            values[c] = NAN;
        values[0] = fmin(at_a, at_b);
        if (at_a == values[0])
            take(a, i++, values + 1);
        if (at_b == values[0])
            take(b, j++, values + from_b);
        status = shot_rows_append_row(out, values);
    }
    free(values);
    return status;
}

/* ---- marks ---- */

static bool has_id(const shot_mark_list *list, const char *id) {
    for (size_t i = 0; id != NULL && i < list->count; i++)
        if (list->marks[i].id != NULL && strcmp(list->marks[i].id, id) == 0)
            return true;
    return false;
}

/* Give mark `index` of b a fresh id, and those that refine it know it. */
static shot_status renew_id(shot_mark_list *marks, size_t index, const shot_mark_list *taken) {
    shot_mark *one = &marks->marks[index];
    char *id;
    SHOT_TRY(shot_mark_list_id_for(taken, one->kind, &id));
    for (size_t i = index + 1; i < marks->count; i++)
        if (marks->marks[i].refines != NULL && strcmp(marks->marks[i].refines, one->id) == 0) {
            char *copy = shot_text_copy(id);
            if (copy == NULL) {
                free(id);
                return SHOT_ERR_MEMORY;
            }
            free(marks->marks[i].refines);
            marks->marks[i].refines = copy;
        }
    free(one->id);
    one->id = id;
    return SHOT_OK;
}

static shot_status join_marks(const shot_mark_list *a, shot_mark_list *b, shot_mark_list *out) {
    for (size_t i = 0; i < a->count; i++)
        SHOT_TRY(shot_mark_list_add(out, &a->marks[i]));
    for (size_t i = 0; i < b->count; i++) {
        if (has_id(out, b->marks[i].id))
            SHOT_TRY(renew_id(b, i, out));
        SHOT_TRY(shot_mark_list_add(out, &b->marks[i]));
    }
    return SHOT_OK;
}

/* ---- all ---- */

static shot_status shift(shot_table *log, const shot_decimal *offset) {
    shot_decimal by = {{0}};
    SHOT_TRY(shot_decimal_subtract(&by, offset));
    for (size_t i = 0; i < log->rows.rows; i++)
        SHOT_TRY(time_origin_shift(&by, &log->rows.column[0][i]));
    for (size_t i = 0; i < log->marks.count; i++)
        SHOT_TRY(time_origin_shift_mark(&by, &log->marks.marks[i]));
    return SHOT_OK;
}

static shot_status join_all(const shot_table *a, shot_table *b, bool fill, shot_table *out) {
    SHOT_TRY(join_heads(&a->head, &b->head, &out->head));
    out->early_lines = out->head.line_count;
    out->cut = a->cut || b->cut;
    SHOT_TRY(shot_rows_init(&out->rows, out->head.channel_count));
    SHOT_TRY(join_rows(a, b, &out->rows));
    for (size_t c = 1; fill && c < out->rows.columns; c++)
        SHOT_TRY(channel_fill(out->rows.column[0], out->rows.column[c], out->rows.rows));
    return join_marks(&a->marks, &b->marks, &out->marks);
}

shot_status join_tables(const shot_table *a, shot_table *b, const shot_decimal *offset, bool fill,
                        shot_table *out) {
    *out = (shot_table){0};
    shot_status status = shift(b, offset);
    if (status == SHOT_OK)
        status = join_all(a, b, fill, out);
    if (status != SHOT_OK)
        shot_table_free(out);
    return status;
}
