/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a logger wrote only where their value changed: a row without one has the one before
 * it.  A row before the first value stays without. */
#ifndef SHOT_FILTER_CARRIED_VALUES_H
#define SHOT_FILTER_CARRIED_VALUES_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/stage.h>

typedef struct carried_value {
    size_t column;
    double last;   /* NaN before the first */
    size_t filled; /* values that were put in */
} carried_value;

typedef struct carried_values {
    carried_value *channels; /* owned */
    size_t count;
} carried_values;

/* Of another shot: the channels of these names that it has.  A zeroed one may be begun and freed.
 */
shot_status carried_values_begin(carried_values *carried, const shot_head *head,
                                 const shot_texts *names);

/* Fill in further rows: column[columns][rows]. */
void carried_values_fill(carried_values *carried, double *const *column, size_t rows);

/* Say how many values were put in. */
shot_status carried_values_tell(const carried_values *carried, const shot_head *head,
                                const char *filter, shot_sink *to, shot_error *error);

void carried_values_free(carried_values *carried);

#endif
