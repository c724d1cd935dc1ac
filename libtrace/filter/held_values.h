/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a logger wrote only where their value changed: a row without one has the one before
 * it.  A row before the first value stays without. */
#ifndef SHOT_FILTER_HELD_VALUES_H
#define SHOT_FILTER_HELD_VALUES_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/stage.h>

typedef struct held_value {
    size_t column;
    double last;   /* NaN before the first */
    size_t filled; /* values that were put in */
} held_value;

typedef struct held_values {
    held_value *channels; /* owned */
    size_t count;
} held_values;

/* Of another shot: the channels of these names that it has.  A zeroed one may be begun and freed.
 */
shot_status held_values_begin(held_values *held, const shot_head *head, const shot_texts *names);

/* Fill in further rows: column[columns][rows]. */
void held_values_fill(held_values *held, double *const *column, size_t rows);

/* Say how many values were put in. */
shot_status held_values_tell(const held_values *held, const shot_head *head, const char *filter,
                             shot_sink *to, shot_error *error);

void held_values_free(held_values *held);

#endif
