/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines above a table that are no comments, to know them again in the middle of a log: files
 * that were joined have them above each table (`cat monday.csv tuesday.csv`). */
#ifndef SHOT_STREAM_PREAMBLE_H
#define SHOT_STREAM_PREAMBLE_H

#include <stdbool.h>

#include <shottrace/trace/shot.h>

#include "stream/held_records.h"
#include "stream/metadata_text.h"

/* Zeroed it has none. */
typedef struct shot_preamble {
    shot_head said;            /* of the first table: keys and remarks */
    shot_held_records waiting; /* lines that may stand above the next table, until it begins */
} shot_preamble;

/* A line above the first table said this; an empty key is a remark. */
shot_status shot_preamble_add(shot_preamble *preamble, const shot_metadata *said);

/* A line behind the first rows that is no row of titles: if it may stand above the next table a
 * copy waits, and *waits is true.  It begins with a word, and with one that stood above the first
 * table, or behind such a line.  `work` is overwritten.  SHOT_ERR_MEMORY. */
shot_status shot_preamble_look(shot_preamble *preamble, const shot_record *record, char decimal,
                               shot_metadata *work, bool *waits);

void shot_preamble_free(shot_preamble *preamble);

#endif
