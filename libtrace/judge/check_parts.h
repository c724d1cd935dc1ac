/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of shot-check share: figures of a shot as a list, for machines and for a page. */
#ifndef SHOT_JUDGE_CHECK_PARTS_H
#define SHOT_JUDGE_CHECK_PARTS_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

#include "judge/check_channel.h"

struct check_settings {
    double mains, span; /* Hz, 0 for none; s */
    int format;
};

typedef struct check_figure {
    const char *channel; /* "" for the shot; borrowed from its head */
    const char *measure;
    char *unit; /* owned */
    double value, low, high;
    const char *note; /* static, or NULL */
} check_figure;

typedef struct check_list {
    check_figure *figures;
    size_t count, room;
} check_list;

/* A value that is not known is left out, unless there is a note that says why. */
shot_status check_list_add(check_list *list, const char *channel, const char *measure,
                           const char *unit, double value, const char *note);
void check_list_free(check_list *list);

/* The value of that channel and measure, NaN where there is none; looks through all of the list. */
double check_list_value(const check_list *list, const char *channel, const char *measure);

/* How many rows there are, and how many of their times repeat, fall, or come in bursts. */
shot_status check_order(const shot_table *shot, check_list *out);

/* Put the rows in order of time; of rows of one time the first stays.  SHOT_ERR_MEMORY. */
shot_status check_put_in_order(shot_rows *rows);

/* How many rows, in the order of time, say again what was known last. */
shot_status check_repeats(const shot_table *shot, check_list *out);

/* What the channels of a shot are: as many as it has besides time. */
shot_status check_channels(const shot_table *shot, check_channel *channels);

/* What the shot lacks, and the figures of its channels. */
shot_status check_figures(const shot_table *shot, const check_channel *channels,
                          const struct check_settings *settings, check_list *out);

/* Where the scale leapt: what was put on it or taken off while the shot was logged. */
shot_status check_scale(const shot_table *shot, const check_channel *channels, check_list *out);

/* What follows: the smallest knee, surge and error of the first drip that the shot can show. */
shot_status check_limits(const shot_table *shot, const check_channel *channels,
                         const struct check_settings *settings, check_list *out);

shot_status check_write_csv(const shot_table *shot, const check_list *list, shot_text *out);
shot_status check_write_page(const shot_table *shot, const check_list *list, shot_text *out);

#endif
