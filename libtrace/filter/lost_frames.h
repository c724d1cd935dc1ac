/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of nothing but zeros between rows that are none: the logger lost what its sensors said.
 *
 * A pump that stops shows zeros too, so a row counts only where two channels at least jump to
 * exactly 0 and back from levels that are no rest, and where one of them is a weight, a count of
 * water or a temperature, which cannot be gone for a row, or the rows on either side are at most
 * 0.25 s apart, in which no pump stops and has its pressure again (common practice, no source).
 */
#ifndef SHOT_FILTER_LOST_FRAMES_H
#define SHOT_FILTER_LOST_FRAMES_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/shot.h>

typedef struct lost_frames {
    double *before, *level; /* owned [columns]: the row before; the least that is no rest, or NaN */
    bool *lasts;            /* owned [columns]: cannot be gone for a row */
    size_t columns;
    size_t count; /* rows found in this shot */
    double first; /* s: the first of them */
} lost_frames;

/* Of another shot.  A zeroed one may be begun and freed. */
shot_status lost_frames_begin(lost_frames *frames, const shot_head *head);

/* Look at the first `ready` of further rows, column[columns][rows], which stand in the order of
 * their times, and make the values of those found missing.  A row is judged by the one behind it,
 * so one that has none there passes. */
void lost_frames_take_out(lost_frames *frames, double *const *column, size_t ready, size_t rows);

void lost_frames_free(lost_frames *frames);

#endif
