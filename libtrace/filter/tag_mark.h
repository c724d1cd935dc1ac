/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mark as a person types it: KIND=FROM[..TO][:NOTE]. */
#ifndef SHOT_FILTER_TAG_MARK_H
#define SHOT_FILTER_TAG_MARK_H

#include <shottrace/trace/mark.h>

#include "filter/typed_time.h"

typedef struct tag_mark {
    char *kind, *note; /* note NULL where there is none */
    typed_time from, to;
} tag_mark;

/* SHOT_ERR_USAGE with a sentence; *out is then empty. */
shot_status tag_mark_read(const char *text, tag_mark *out, shot_error *error);

/* The mark in the time of a trace.  SHOT_ERR_SINGULAR where it counts from the first row and there
 * is none (`first` NaN).  *out is freed with shot_mark_free. */
shot_status tag_mark_settle(const tag_mark *mark, const shot_decimal *origin, double first,
                            shot_mark *out);

void tag_mark_free(tag_mark *mark);

#endif
