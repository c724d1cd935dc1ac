/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the clock of a foreign table is coarser than its rows. */
#ifndef SHOT_STREAM_FOREIGN_COARSE_H
#define SHOT_STREAM_FOREIGN_COARSE_H

#include "stream/coarse_clock.h"
#include "stream/foreign_clock.h"

/* From the first rows; `clock` is as it stood before them.  A clock whose titles mean what they say
 * is taken at its word. */
shot_status shot_foreign_coarse_settle(shot_coarse_clock *coarse, const shot_foreign_clock *clock,
                                       const shot_foreign_columns *columns,
                                       const shot_held_records *rows, shot_foreign_cells *cells,
                                       shot_text *reasons);

#endif
