/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The marks of a shot that count: what a person marked and a detector found counts once, and so
 * does what a detector found twice. */
#ifndef SHOT_JUDGE_COUNTED_MARKS_H
#define SHOT_JUDGE_COUNTED_MARKS_H

#include <stdbool.h>

#include <shottrace/trace/mark.h>

/* A zeroed one has none. */
typedef struct counted_marks {
    bool *counts; /* owned: of each mark of the list, whether it counts */
    const shot_mark *
        *by_start; /* owned [count]: those that do, by kind and start; borrowed marks */
    size_t count;
} counted_marks;

/* Both marks are of one kind, channel and time: a detector that ran twice made the second. */
bool shot_mark_is_again(const shot_mark *a, const shot_mark *b);

/* A mark counts if it stands, and no other one tells of the same event and goes before it: the one
 * that bears a figure, or the first.  In n log n, where few marks of a kind overlap.  The list must
 * stay as it is.  SHOT_ERR_MEMORY. */
shot_status counted_marks_find(counted_marks *out, const shot_mark_list *list);

/* Those of a kind in order of time: the next one after the start of `after` (NULL: the first), or
 * NULL.  Of several that start at once the first of the list comes, and no other. */
const shot_mark *counted_marks_next(const counted_marks *marks, const char *kind,
                                    const shot_mark *after);

void counted_marks_free(counted_marks *marks);

#endif
