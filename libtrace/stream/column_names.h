/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the header of a foreign table says: "Pump Pressure (PSI)" is the channel pressure in psi. */
#ifndef SHOT_STREAM_COLUMN_NAMES_H
#define SHOT_STREAM_COLUMN_NAMES_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/channel.h>
#include <shottrace/trace/text.h>

/* A column's title, understood.  Zeroed it is empty; free with shot_title_free. */
typedef struct shot_title {
    shot_text name; /* the title without its unit */
    shot_text unit; /* in the library's spelling where it knows the unit; "" if none is said */
    const shot_channel_kind *kind; /* the channel that the name means; NULL if none */
    int rank; /* of two titles that mean one channel, the lower rank is the plainer name */
} shot_title;

/* Units are recognised as `NAME [UNIT]`, `NAME (UNIT)`, `NAME, UNIT`, `NAME/UNIT`, `NAME_UNIT`,
 * `NAME UNIT`; the last four only where name and unit fit each other, but `NAME / UNIT`, with
 * blanks, also where the name means nothing.  Titles like "seconds", "bar" or "g" are a channel by
 * its unit. */
shot_status shot_title_read(const char *text, size_t length, shot_title *out);
void shot_title_free(shot_title *title);

/* A unit in the library's spelling: "PSI" is psi, "ml/sec" ml/s, "\u00b0C" degC; `known` tells
 * whether the library can convert it, else the text is kept as it is. */
shot_status shot_unit_spelling(const char *text, size_t length, shot_text *out, bool *known);

/* True if a column of that title would be the clock. */
bool shot_title_names_time(const char *text, size_t length);

/* True if the text, with or without brackets, is a unit or empty: a cell of a row of units. */
bool shot_title_is_unit(const char *text, size_t length);

#endif
