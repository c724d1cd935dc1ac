/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables whose latest row comes first, as many programs export them. */
#ifndef SHOT_STREAM_FOREIGN_BACKWARD_H
#define SHOT_STREAM_FOREIGN_BACKWARD_H

#include "stream/foreign_clock.h"

/* Whether the clock, which is left as it is, falls from row to row and never rises. */
shot_status shot_foreign_backward(const shot_foreign_clock *clock, const shot_held_records *rows,
                                  shot_foreign_cells *cells, bool *backward);

/* Turn the rows round, and with them the lines that came among them: `line` rows before each. */
void shot_foreign_turn_round(shot_held_records *rows, shot_held_records *lines);

#endif
