/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The cells of a foreign table become numbers, all with one decimal mark. */
#ifndef SHOT_STREAM_FOREIGN_CELLS_H
#define SHOT_STREAM_FOREIGN_CELLS_H

#include "stream/foreign_columns.h"

/* `decimal` is the mark that was worked out or, while it is 0, the first one that is seen. */
typedef struct shot_foreign_cells {
    const struct shot_read_settings *settings;
    char decimal;
    shot_text scratch;
    shot_text dated; /* a time of day with its date */
} shot_foreign_cells;

/* The value of a cell in its channel's unit; NaN where it is missing, and infinite where the cell
 * says so or its number is larger than any that there is, unless --missing names it.
 *   field     the number of the cell, for messages
 *   readable  false, and the reason in `error`, if the cell spoils its row
 * SHOT_ERR_UNIT if a value without a unit is out of its channel's range. */
shot_status shot_foreign_cells_value(shot_foreign_cells *cells, const shot_foreign_column *column,
                                     size_t field, const shot_cell *cell, double *value,
                                     bool *readable, shot_error *error);

/* The text of a clock with a point for its decimal mark; borrowed until the next call. */
shot_status shot_foreign_cells_clock(shot_foreign_cells *cells, const shot_cell *cell,
                                     shot_cell *out);

/* How many bytes of a cell a message shows. */
int shot_foreign_cells_shown(shot_cell cell);

#endif
