/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each column of a foreign table is for. */
#ifndef SHOT_STREAM_FOREIGN_COLUMNS_H
#define SHOT_STREAM_FOREIGN_COLUMNS_H

#include <stdbool.h>

#include <shottrace/trace/shot.h>

#include "stream/column_names.h"
#include "stream/read_settings.h"
#include "stream/records.h"
#include "stream/row_text.h"

typedef enum shot_column_use {
    SHOT_USE_VALUE, /* a channel */
    SHOT_USE_TIME,
    SHOT_USE_TEXT, /* becomes marks at its changes */
    SHOT_USE_BY,   /* tells shots apart */
    SHOT_USE_DATE  /* the day of a clock that has the time of day alone */
} shot_column_use;

typedef struct shot_foreign_column {
    shot_column_use use;
    char *text; /* the title as it stood */
    shot_title title;
    bool mapped;         /* its meaning was said, not guessed */
    const char *odd;     /* of a TEXT: the channel that its title means, though its cells begin like
                          * numbers and are none; NULL: nothing of the kind */
    bool names_channels; /* of a TEXT: each cell is the title of a channel */
    char *channel;       /* the name that it gets in the stream */
    shot_column reading; /* of a VALUE */
    bool seen;           /* ... which this shot has had */
    bool beyond;         /* ... of which a value was told that no sensor of its kind shows */
    shot_text last;      /* of a TEXT: what it said last; of a BY: the shot that runs */
} shot_foreign_column;

/* A column with use TIME, BY or DATE is at `time`, `by` or `date`; NO_COLUMN if there is none. */
typedef struct shot_foreign_columns {
    shot_foreign_column *items;
    size_t count, time, by, date;
    bool literal; /* titles mean what they say */
} shot_foreign_columns;

#define SHOT_NO_COLUMN ((size_t)-1)

/* Understand the titles of a table.
 *   titles  `literal` where they are those of a stream's header: no other spelling is looked for
 *   units   the row of units behind them, or NULL
 * SHOT_ERR_DATA if a column that an option names is not there, or none is time (and no rate is
 * said).  The caller frees `out`, also after an error. */
shot_status shot_foreign_columns_read(const shot_record *titles, const shot_record *units,
                                      const struct shot_read_settings *settings,
                                      shot_foreign_columns *out, shot_error *error);

/* Decide from the first rows which columns hold values and which text, and how values become the
 * channel's unit.  `rows` are records of cells; a cell is rows[r].cells[c].  SHOT_ERR_UNIT if a
 * unit cannot belong to its channel. */
shot_status shot_foreign_columns_settle(shot_foreign_columns *columns, const shot_record *rows,
                                        size_t row_count, const shot_texts *missing,
                                        shot_error *error);

/* Add a channel `time` and one for each VALUE. */
shot_status shot_foreign_columns_declare(const shot_foreign_columns *columns, shot_head *head);

/* A line for each column: what it is taken for. */
shot_status shot_foreign_columns_explain(const shot_foreign_columns *columns, shot_text *reasons);

void shot_foreign_columns_free(shot_foreign_columns *columns);

/* True if the cell holds no value: blank, a word for that, or one of `more`. */
bool shot_cell_is_missing(const shot_cell *cell, const shot_texts *more);

#endif
