/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The clock of a foreign table: a column, or a rate. */
#ifndef SHOT_STREAM_FOREIGN_CLOCK_H
#define SHOT_STREAM_FOREIGN_CLOCK_H

#include "stream/clock_text.h"
#include "stream/foreign_cells.h"
#include "stream/held_records.h"

typedef struct shot_foreign_clock {
    const struct shot_read_settings *settings;
    shot_clock clock;
    size_t column;   /* SHOT_NO_COLUMN: rows come at the rate that was said */
    size_t date;     /* the column of its dates; SHOT_NO_COLUMN: it tells them itself, or none */
    size_t rows;     /* of the shot so far */
    bool has_origin; /* `origin` is subtracted from the readings of the shot */
    shot_decimal origin;
} shot_foreign_clock;

/* Work out from the first rows what clock it is, or take the one that was said. */
shot_status shot_foreign_clock_settle(shot_foreign_clock *clock,
                                      const shot_foreign_columns *columns,
                                      const shot_held_records *rows, shot_foreign_cells *cells,
                                      shot_text *reasons, shot_error *error);

/* The reading of a row; `readable` is false, and the reason in `error`, if there is none. */
shot_status shot_foreign_clock_read(shot_foreign_clock *clock, const shot_record *row,
                                    shot_foreign_cells *cells, shot_decimal *seconds,
                                    shot_clock_leap *leap, bool *readable, shot_error *error);

/* A shot begins with this reading: settle its origin, unless its log says one. */
shot_status shot_foreign_clock_begin(shot_foreign_clock *clock, const shot_decimal *first,
                                     bool said);

/* A reading on the time of the stream. */
shot_status shot_foreign_clock_time(const shot_foreign_clock *clock, const shot_decimal *seconds,
                                    double *time);

#endif
