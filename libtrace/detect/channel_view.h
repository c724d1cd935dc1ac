/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel as detectors look at it: its own samples, and the noise on them. */
#ifndef SHOT_DETECT_CHANNEL_VIEW_H
#define SHOT_DETECT_CHANNEL_VIEW_H

#include <stdbool.h>

#include <shottrace/signal/noise.h>
#include <shottrace/trace/table.h>

typedef struct shot_channel_view {
    double *t, *y; /* the samples that are not missing, less `frozen`, or `carried` [n] */
    size_t n;
    double step;      /* in which the values are written; 0: continuous */
    shot_noise noise; /* of the log, or as a filter before recorded it (`# noise:`) */
    double rows;      /* s between the rows where a figure stands in several and is kept once; 0 */
    size_t frozen;    /* rows that repeat the one before in every channel, and are left out */
    bool carried;     /* it was written only where it changed, and stands in the rows between */
    bool processed;   /* a filter changed the channel: intervals cannot account for what it did */
} shot_channel_view;

/* Take the channel of that name out of the shot.  SHOT_ERR_SINGULAR if there is none or it has
 * fewer than 5 samples; SHOT_ERR_MEMORY.  Freed by shot_channel_view_free, also after an error. */
shot_status shot_channel_view_new(const shot_table *shot, const char *channel,
                                  shot_channel_view *out);

/* The step in which the channel is written, as far as its changes tell: no smaller than the
 * smallest of them, where they are too few to tell more. */
double shot_channel_view_written_step(const shot_channel_view *view);

/* The index of the first sample at `time` or later; n if there is none. */
size_t shot_view_first(const shot_channel_view *view, double time);

/* The value at a time by the line between the samples beside it: before the first sample and after
 * the last its value; NaN if there are none. */
double shot_view_at(const shot_channel_view *view, double t);

/* The even step behind t, or the last one before there are samples within `half` of it: a clock
 * that is set on the way makes a hole of years.  Infinite where t is too large to tell a step. */
double shot_view_step_on(const shot_channel_view *view, double t, double half, double step);

void shot_channel_view_free(shot_channel_view *view);

#endif
