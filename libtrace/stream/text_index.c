/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts and their numbers: a hash table with linear probing (Knuth, "The Art of Computer
 * Programming" 3, 6.4, algorithm L). */
#include "stream/text_index.h"

#include <stdlib.h>
#include <string.h>

/* FNV-1a, 64 bits (Fowler, Noll & Vo; RFC 9923). */
static uint64_t hash(shot_cell text) {
    uint64_t h = UINT64_C(0xcbf29ce484222325);
    for (size_t i = 0; i < text.length; i++)
        h = (h ^ (unsigned char)text.text[i]) * UINT64_C(0x100000001b3);
    return h;
}

static bool same(shot_cell a, shot_cell b) {
    return a.length == b.length && (a.length == 0 || memcmp(a.text, b.text, a.length) == 0);
}

/* The slot of the text, or the empty one where it would be. */
static size_t slot_of(const shot_text_index *index, shot_cell text) {
    size_t at = (size_t)hash(text) & (index->room - 1);
    while (index->slots[at] != 0 && !same(text, shot_text_index_text(index, index->slots[at] - 1)))
        at = (at + 1) & (index->room - 1);
    return at;
}

static shot_status grow(shot_text_index *index) {
    size_t room = index->room ? 2 * index->room : 16;
    size_t *starts = realloc(index->starts, (room / 2 + 1) * sizeof *starts);
    if (starts == NULL)
        return SHOT_ERR_MEMORY;
    index->starts = starts;
    starts[index->count] = index->bytes.length;
    size_t *slots = calloc(room, sizeof *slots);
    if (slots == NULL)
        return SHOT_ERR_MEMORY;
    free(index->slots);
    index->slots = slots;
    index->room = room;
    for (size_t i = 0; i < index->count; i++)
        slots[slot_of(index, shot_text_index_text(index, i))] = i + 1;
    return SHOT_OK;
}

shot_status shot_text_index_add(shot_text_index *index, shot_cell text, size_t *number) {
    if (2 * (index->count + 1) > index->room)
        SHOT_TRY(grow(index));
    size_t slot = slot_of(index, text);
    if (index->slots[slot] == 0) {
        SHOT_TRY(shot_text_add_bytes(&index->bytes, text.text, text.length));
        index->slots[slot] = ++index->count;
        index->starts[index->count] = index->bytes.length;
    }
    *number = index->slots[slot] - 1;
    return SHOT_OK;
}

size_t shot_text_index_find(const shot_text_index *index, shot_cell text) {
    if (index->room == 0)
        return SHOT_NOT_INDEXED;
    size_t slot = slot_of(index, text);
    return index->slots[slot] != 0 ? index->slots[slot] - 1 : SHOT_NOT_INDEXED;
}

shot_cell shot_text_index_text(const shot_text_index *index, size_t number) {
    return (shot_cell){index->bytes.bytes + index->starts[number],
                       index->starts[number + 1] - index->starts[number]};
}

void shot_text_index_clear(shot_text_index *index) {
    if (index->room > 0) {
        memset(index->slots, 0, index->room * sizeof *index->slots);
        index->starts[0] = 0;
    }
    index->count = 0;
    shot_text_clear(&index->bytes);
}

void shot_text_index_free(shot_text_index *index) {
    shot_text_free(&index->bytes);
    free(index->starts);
    free(index->slots);
    *index = (shot_text_index){0};
}
