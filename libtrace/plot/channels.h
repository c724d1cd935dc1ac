/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels of a shot as what is drawn: a line each, with the columns that belong to it. */
#ifndef SHOT_PLOT_CHANNELS_H
#define SHOT_PLOT_CHANNELS_H

#include <stdbool.h>

#include <shottrace/trace/option.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

#include "plot/page.h"

/* Columns are those of the shot unless they are owned, [rows]. */
typedef struct plot_channel {
    const char *name; /* of the column, borrowed from the shot */
    char *label;
    const char *unit;
    const double *value;
    const double *low, *high; /* of the band about it, or NULL */
    double *deviation;        /* owned; `value` and the band are made of it, or NULL */
    double *band;             /* owned: low and high one after the other, or NULL */
    char *remark;             /* what the panel should say about itself, or NULL */
} plot_channel;

typedef struct plot_channel_list {
    plot_channel *items;
    size_t count;
} plot_channel_list;

/* All channels but time and those that belong to another, or those named, in their order.
 * `out` must be zeroed, and is freed with plot_channels_free also after a failure.
 * SHOT_ERR_DATA with a sentence where a named one is missing. */
shot_status plot_channels_of(const shot_table *shot, const shot_texts *names,
                             plot_channel_list *out, shot_error *error);
void plot_channels_free(plot_channel_list *list);

/* The axis of values: all that is drawn, with 0 where that is near.  Of quantities whose unit tells
 * that they are made by dividing (bar.s/ml, ml/bar.s, m2) the middle 96 % and as much again, over
 * the brew where that is known; the remark then tells how far they reach. */
plot_axis plot_channel_axis(plot_channel *channel, const shot_table *shot, const shot_table *behind,
                            size_t ticks);

/* Its two steps: widen *low..*high (NaN at first) to what of a column in that unit should be seen,
 * and the axis that shows that. */
void plot_channel_view(const char *unit, const double *values, const shot_table *shot, double *low,
                       double *high);
plot_axis plot_channel_cover(double low, double high, size_t ticks);

/* False for NAME.se, NAME.low, NAME.high, wanted.NAME of a channel NAME, and for counts of shots.
 */
bool plot_channel_stands_alone(const shot_table *shot, const char *name);

/* Append " pressure from 0 to 8.7 bar." */
shot_status plot_channel_describe(const plot_channel *channel, size_t rows, shot_text *text);

#endif
