/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a foreign table knows of itself.  Internal to foreign_table*.c. */
#ifndef SHOT_STREAM_FOREIGN_TABLE_PARTS_H
#define SHOT_STREAM_FOREIGN_TABLE_PARTS_H

#include "stream/foreign_table.h"

#include "stream/coarse_clock.h"
#include "stream/foreign_cells.h"
#include "stream/foreign_clock.h"
#include "stream/foreign_columns.h"
#include "stream/foreign_rejects.h"
#include "stream/foreign_restart.h"
#include "stream/foreign_shot.h"
#include "stream/held_records.h"

struct shot_foreign_table {
    shot_table_target target;
    const struct shot_read_settings *settings;
    const char *file;
    shot_foreign_cells cells;

    bool headed, settled;
    bool whole;       /* the header is that of a shot we wrote, which may have no row */
    shot_text header; /* the text of the titles, and its line */
    size_t header_line;
    shot_foreign_columns columns;
    bool backward;                /* the latest row comes first: all are held */
    size_t turned;                /* tables in a row, of one header, whose rows were turned round */
    shot_held_records held;       /* first rows */
    shot_held_records held_lines; /* that came among them: key and value; `line` rows before it */
    shot_foreign_clock clock;
    shot_coarse_clock coarse; /* what its readings become */

    shot_foreign_shot shot;
    size_t came; /* rows since the header, or since the stream said an end */
    double *values;
    size_t last_decimals; /* the most that a number of the last column has, in the first rows */
    bool in_order;        /* times may not repeat or fall */
    double last_time;
    double page_end; /* the last reading of the table before, where the same header comes again */
    shot_foreign_restart restart;

    shot_text hints; /* that were told last */
    shot_rejects rejects;
    shot_loss_count infinities; /* values that became missing */
    shot_loss_count losses;     /* something besides rows and values */
    bool text;                  /* this file is text of lines */
    bool cut;                   /* the bytes of this file end too early */
    bool any_cut;               /* ... or those of any file did */
    bool abandoned;             /* a file could not be read further, as was told */
    bool stream_cut;            /* a trace stream did not say its end */
};

/* Where an error is: this line of the file. */
void foreign_table_place(const shot_foreign_table *table, size_t line, shot_error *error);

/* Tell the sink of the shot to which the rows that come belong. */
shot_status foreign_table_begin_shot(shot_foreign_table *table, shot_error *error);

/* A row, once it is known what the columns are: values and marks for the sink, the start of
 * another shot, or a rejected row. */
shot_status foreign_table_take_row(shot_foreign_table *table, const shot_record *row,
                                   shot_error *error);

/* The first rows, which tell how numbers of the last column are written. */
void foreign_table_learn_decimals(shot_foreign_table *table, const shot_held_records *rows);

/* A row that may begin another shot is held: it does if `anew`, else it is one that strayed. */
shot_status foreign_table_settle_restart(shot_foreign_table *table, bool anew, shot_error *error);

#endif
