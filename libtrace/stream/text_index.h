/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Different texts numbered in the order in which they first came. */
#ifndef SHOT_STREAM_TEXT_INDEX_H
#define SHOT_STREAM_TEXT_INDEX_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#include "stream/cell_text.h"

/* Zeroed it is empty; free with shot_text_index_free. */
typedef struct shot_text_index {
    shot_text bytes;
    size_t *starts; /* of each text; starts[count] is where the next one would */
    size_t count;
    size_t *slots; /* number of a text + 1, or 0; open addressing */
    size_t room;   /* a power of two */
} shot_text_index;

#define SHOT_NOT_INDEXED ((size_t)-1)

/* The number of a text, which is added if it is new. */
shot_status shot_text_index_add(shot_text_index *index, shot_cell text, size_t *number);
/* The number of a text, or SHOT_NOT_INDEXED. */
size_t shot_text_index_find(const shot_text_index *index, shot_cell text);
/* The text of a number; valid until the next one is added. */
shot_cell shot_text_index_text(const shot_text_index *index, size_t number);
void shot_text_index_clear(shot_text_index *index);
void shot_text_index_free(shot_text_index *index);

#endif
