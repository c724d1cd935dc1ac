/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The delay between two channels of a record, each with samples of its own, and its removal. */
#ifndef SHOT_SIGNAL_CHANNEL_DELAY_H
#define SHOT_SIGNAL_CHANNEL_DELAY_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

typedef struct channel_delay {
    double delay, se;   /* s; the second channel is late by this much */
    double correlation; /* 0 .. 1, of the one with the other or with its negative */
    bool opposite;      /* the one falls where the other rises */
    double rival;       /* another delay that fits as well, s; NaN if none does */
    double from, to;    /* the part of the record that was compared, s */
} channel_delay;

/* Find it.
 *   t        times of the rows                       [n]
 *   a, b     the channels, NaN where missing         [n]
 *   longest  longest delay looked for, s
 * Both are brought onto a grid of the slower one's usual spacing (the monotone cubic behind its
 * low-pass) and compared over the longest stretch in which both are known; only that is laid on the
 * grid, so that memory follows the samples, not the time. SHOT_ERR_SINGULAR if it is too short, or
 * no delay stands out; SHOT_ERR_MEMORY. */
shot_status channel_delay_find(const double *t, const double *a, const double *b, size_t n,
                               double longest, channel_delay *out);

/* Shift y earlier by `delay` s: a row that had a sample gets the monotone cubic through the
 * channel's samples at its time + delay, missing outside them and in gaps (above five times the
 * usual interval).  SHOT_ERR_MEMORY. */
shot_status channel_delay_remove(const double *t, double *y, size_t n, double delay);

/* Put the same cubic where y is missing between its samples, but not in gaps.  SHOT_ERR_MEMORY. */
shot_status channel_fill(const double *t, double *y, size_t n);

#endif
