/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table with a block of columns for each shot, side by side, becomes one table after another.
 * A block starts at each column that is titled as time, where there are several of one title; the
 * numbers that tell their titles apart ("time 2", "pressure 2", or "time.1") are dropped. */
#ifndef SHOT_STREAM_FOREIGN_BLOCKS_H
#define SHOT_STREAM_FOREIGN_BLOCKS_H

#include "stream/foreign_table.h"

/* A target that drives `next`.  Tables of one block pass as they are; of others the first block
 * passes at once, and the rest is held until the table ends.  *out is freed with its own call,
 * `next` is borrowed. */
shot_status shot_foreign_blocks_new(shot_table_target *next, shot_table_target **out);

#endif
