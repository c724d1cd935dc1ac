/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a pump stands, the cup keeps its weight and the water its heat. */
#include "puck/lost_rows.h"

#include "signal/frozen_rows.h"

size_t lost_rows_find(const shot_table *shot, bool *lost) {
    const double *const stays[] = {shot_table_column(shot, "weight"),
                                   shot_table_column(shot, "temperature")};
    return frozen_rows_find(shot->rows.column, shot->rows.columns, shot->rows.rows, stays,
                            sizeof stays / sizeof *stays, lost);
}
