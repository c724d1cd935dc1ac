/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person may have to say about a table, where its titles leave a channel unnamed. */
#ifndef SHOT_STREAM_FOREIGN_HINTS_H
#define SHOT_STREAM_FOREIGN_HINTS_H

#include "stream/foreign_columns.h"

/* A line for each of pressure, flow and weight that no column is titled as, where a column that
 * means no channel has its unit: which one that is, and how to say so.  No guess is made: a gauge
 * of the boiler is in bar too.  Columns must be settled. */
shot_status shot_foreign_columns_hint(const shot_foreign_columns *columns, shot_text *hints);

#endif
