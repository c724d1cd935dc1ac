/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How near rows may come and still be rows of their own.
 *
 * A logger that stamps rows when it receives them gets several at once, and what lies between their
 * times is its own work.  Where a third of the spacings, or more, is under a fifth of the mean, a
 * row that comes as near as that has the time of the one before it as far as anyone can tell
 * (common practice, no source).  Sixteen spacings are looked at together, against the mean of the
 * sixteen before: they settle it for the sixteen rows behind them, and the longest is left out of
 * a mean, since it may be a hole.  In the first rows of a log only equal times are equal.
 */
#ifndef SHOT_SIGNAL_ROW_BURSTS_H
#define SHOT_SIGNAL_ROW_BURSTS_H

#include <stdbool.h>
#include <stddef.h>

enum { ROW_BURSTS_SPACINGS = 16, ROW_BURSTS_PART = 5 };

/* Zeroed it knows nothing. */
typedef struct row_bursts {
    double near;          /* s: no farther is the same time */
    double part;          /* s: a fifth of the mean spacing, as it was last */
    double from, longest; /* s, since that was settled: the first time, the longest spacing */
    size_t rows, close;   /* ... rows, and those within `part` of the one before */
} row_bursts;

/* Sixteen spacings that end at this time are known. */
static inline void row_bursts_settle(row_bursts *bursts, double time) {
    const double mean = (time - bursts->from - bursts->longest) / (ROW_BURSTS_SPACINGS - 1);
    const double part = mean / ROW_BURSTS_PART;
    const bool bursty = 3 * bursts->close >= ROW_BURSTS_SPACINGS;
    *bursts = (row_bursts){.near = bursty ? part : 0, .part = part, .from = time, .rows = 1};
}

/* A row came behind the one before it.  Rows are seen in order, merged ones too; what stands before
 * the first does not matter. */
static inline void row_bursts_see(row_bursts *bursts, double before, double time) {
    const double spacing = time - before;
    if (bursts->rows++ == 0) {
        bursts->from = time;
        return;
    }
    bursts->longest = spacing > bursts->longest ? spacing : bursts->longest;
    bursts->close += spacing <= bursts->part;
    if (bursts->rows > ROW_BURSTS_SPACINGS)
        row_bursts_settle(bursts, time);
}

/* The same for sixteen rows at once, t[0..15], behind the row at t[-1] at which it was settled;
 * false, with nothing seen, elsewhere and where one of them is no row of its own. */
bool row_bursts_see_all(row_bursts *bursts, const double *t);

#endif
