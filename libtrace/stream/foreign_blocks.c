/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Blocks of columns, one a shot. */
#include "stream/foreign_blocks.h"

#include <stdlib.h>
#include <string.h>

#include "stream/column_names.h"
#include "stream/held_records.h"

/* A block: its columns, the number at the end of its titles, and its rows but for the first block,
 * whose rows pass. */
typedef struct block {
    size_t first, count;
    shot_cell suffix;
    shot_held_records rows;
} block;

typedef struct foreign_blocks {
    shot_table_target target;
    shot_table_target *next;
    shot_held_records titles; /* and the row of units, if there is one */
    block *blocks;
    size_t count;
    shot_cell *cells; /* titles of a block, and their texts */
    shot_text text;
} foreign_blocks;

static foreign_blocks *blocks_of(shot_table_target *target) {
    return (foreign_blocks *)target;
}

/* --------------------------------------------------------------------------------- titles ---- */

/* The title before its unit in brackets. */
static shot_cell name_of(shot_cell title) {
    size_t length = 0;
    while (length < title.length && (length == 0 || strchr("[(", title.text[length]) == NULL))
        length++;
    return shot_cell_trimmed(&(shot_cell){title.text, length});
}

/* The number at the end of a name, with the blank, point or line before it; empty if there is
 * none. */
static shot_cell number_behind(shot_cell title) {
    size_t start = title.length;
    while (start > 0 && title.text[start - 1] >= '0' && title.text[start - 1] <= '9')
        start--;
    if (start == title.length || start == 0)
        return (shot_cell){title.text + title.length, 0};
    start -= strchr(" ._-#", title.text[start - 1]) != NULL;
    return (shot_cell){title.text + start, title.length - start};
}

static bool same(shot_cell a, shot_cell b) {
    return a.length == b.length && (a.length == 0 || memcmp(a.text, b.text, a.length) == 0);
}

static shot_cell without(shot_cell title, shot_cell suffix) {
    bool ends = title.length > suffix.length &&
                same((shot_cell){title.text + title.length - suffix.length, suffix.length}, suffix);
    return (shot_cell){title.text, title.length - (ends ? suffix.length : 0)};
}

/* The column starts a block: titled as time, and but for its number like the first such one. */
static bool starts_block(shot_cell title, const shot_cell *first, shot_cell *suffix) {
    shot_cell name = name_of(shot_cell_trimmed(&title));
    *suffix = number_behind(name);
    shot_cell base = without(name, *suffix);
    if (!shot_title_names_time(base.text, base.length))
        return false;
    return first->text == NULL || same(base, *first);
}

static shot_status add_block(foreign_blocks *self, size_t first, shot_cell suffix) {
    block *blocks = realloc(self->blocks, (self->count + 1) * sizeof *blocks);
    if (blocks == NULL)
        return SHOT_ERR_MEMORY;
    self->blocks = blocks;
    blocks[self->count++] = (block){.first = first, .suffix = suffix};
    return SHOT_OK;
}

static void forget_blocks(foreign_blocks *self) {
    for (size_t b = 0; b < self->count; b++)
        shot_held_records_free(&self->blocks[b].rows);
    self->count = 0;
}

static shot_status find_blocks(foreign_blocks *self) {
    const shot_record *titles = &self->titles.items[0];
    shot_cell first = {NULL, 0}, suffix;
    forget_blocks(self);
    for (size_t i = 0; i < titles->count; i++) {
        if (!starts_block(titles->cells[i], &first, &suffix))
            continue;
        if (first.text == NULL)
            first = without(name_of(shot_cell_trimmed(&titles->cells[i])), suffix);
        SHOT_TRY(add_block(self, self->count == 0 ? 0 : i, suffix));
    }
    for (size_t b = 0; b < self->count; b++)
        self->blocks[b].count = (b + 1 < self->count ? self->blocks[b + 1].first : titles->count) -
                                self->blocks[b].first;
    return SHOT_OK;
}

/* ----------------------------------------------------------------------------------- rows ---- */

/* The part of a record that belongs to a block. */
static shot_record part_of(const shot_record *record, const block *b) {
    shot_record part = *record;
    size_t there = record->count > b->first ? record->count - b->first : 0;
    part.cells = record->cells + (there > 0 ? b->first : 0);
    part.count = there < b->count ? there : b->count;
    return part;
}

static bool is_blank(const shot_record *record) {
    for (size_t i = 0; i < record->count; i++)
        if (shot_cell_trimmed(&record->cells[i]).length > 0)
            return false;
    return true;
}

/* The titles of a block without its number. */
static shot_status plain_titles(foreign_blocks *self, const shot_record *titles, shot_cell suffix) {
    shot_text_clear(&self->text);
    for (size_t i = 0; i < titles->count; i++) {
        shot_cell title = shot_cell_trimmed(&titles->cells[i]), name = name_of(title);
        shot_cell plain = without(name, suffix);
        size_t start = self->text.length;
        SHOT_TRY(shot_text_add_bytes(&self->text, plain.text, plain.length));
        SHOT_TRY(
            shot_text_add_bytes(&self->text, name.text + name.length, title.length - name.length));
        self->cells[i].length = self->text.length - start;
    }
    for (size_t i = 0, at = 0; i < titles->count; at += self->cells[i++].length)
        self->cells[i].text = self->text.bytes + at;
    return SHOT_OK;
}

static shot_status say_header(foreign_blocks *self, const block *b, shot_error *error) {
    shot_record titles = part_of(&self->titles.items[0], b), units;
    SHOT_TRY(plain_titles(self, &titles, b->suffix));
    titles.cells = self->cells;
    if (self->titles.count > 1)
        units = part_of(&self->titles.items[1], b);
    return self->next->calls->header(self->next, &titles, self->titles.count > 1 ? &units : NULL,
                                     error);
}

/* ---------------------------------------------------------------------------------- target --- */

static shot_status line(shot_table_target *target, const char *key, const char *value,
                        shot_error *error) {
    foreign_blocks *self = blocks_of(target);
    return self->next->calls->line(self->next, key, value, error);
}

/* The blocks that were held, as tables behind the first one. */
static shot_status hand_on_blocks(foreign_blocks *self, shot_error *error) {
    for (size_t b = 1; b < self->count; b++) {
        const block *one = &self->blocks[b];
        if (one->rows.count == 0)
            continue;
        SHOT_TRY(say_header(self, one, error));
        for (size_t r = 0; r < one->rows.count; r++)
            SHOT_TRY(self->next->calls->row(self->next, &one->rows.items[r], error));
    }
    forget_blocks(self);
    return SHOT_OK;
}

static shot_status header(shot_table_target *target, const shot_record *titles,
                          const shot_record *units, shot_error *error) {
    foreign_blocks *self = blocks_of(target);
    SHOT_TRY(hand_on_blocks(self, error));
    if (titles->literal)
        return self->next->calls->header(self->next, titles, units, error);
    shot_held_records_clear(&self->titles);
    SHOT_TRY(shot_held_records_add(&self->titles, titles));
    if (units != NULL)
        SHOT_TRY(shot_held_records_add(&self->titles, units));
    SHOT_TRY(find_blocks(self));
    if (self->count < 2)
        return self->next->calls->header(self->next, titles, units, error);
    free(self->cells);
    self->cells = calloc(titles->count, sizeof *self->cells);
    return self->cells != NULL ? say_header(self, &self->blocks[0], error) : SHOT_ERR_MEMORY;
}

static shot_status row(shot_table_target *target, const shot_record *record, shot_error *error) {
    foreign_blocks *self = blocks_of(target);
    if (self->count < 2)
        return self->next->calls->row(self->next, record, error);
    for (size_t b = 1; b < self->count; b++) {
        shot_record part = part_of(record, &self->blocks[b]);
        if (!is_blank(&part))
            SHOT_TRY(shot_held_records_add(&self->blocks[b].rows, &part));
    }
    shot_record part = part_of(record, &self->blocks[0]);
    return is_blank(&part) ? SHOT_OK : self->next->calls->row(self->next, &part, error);
}

static shot_status end(shot_table_target *target, shot_error *error) {
    foreign_blocks *self = blocks_of(target);
    SHOT_TRY(hand_on_blocks(self, error));
    return self->next->calls->end(self->next, error);
}

static void release(shot_table_target *target) {
    foreign_blocks *self = blocks_of(target);
    forget_blocks(self);
    shot_held_records_free(&self->titles);
    free(self->blocks);
    free(self->cells);
    shot_text_free(&self->text);
    free(self);
}

static const shot_table_target_calls calls = {line, header, row, end, release};

shot_status shot_foreign_blocks_new(shot_table_target *next, shot_table_target **out) {
    foreign_blocks *self = calloc(1, sizeof *self);
    *out = self != NULL ? &self->target : NULL;
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->target.calls = &calls;
    self->next = next;
    return SHOT_OK;
}
