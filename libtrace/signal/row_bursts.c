/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sixteen rows at once. */
#include "signal/row_bursts.h"

#include <math.h>
#include <stdint.h>

#include "signal/wide.h"

/* Of the spacings before t[0..15]: the shortest, the longest, and how many are within `part`. */
typedef struct spacings_seen {
    double shortest, longest;
    int64_t close;
} spacings_seen;

SHOT_WIDE static void look_at_spacings(const double *t, double part, spacings_seen *out) {
    double shortest = INFINITY, longest = 0;
    int64_t close = 0;
#pragma omp simd reduction(min : shortest) reduction(max : longest) reduction(+ : close)
    for (size_t i = 0; i < ROW_BURSTS_SPACINGS; i++) {
        const double spacing = t[i] - t[(ptrdiff_t)i - 1];
        shortest = lesser(spacing, shortest);
        longest = greater(spacing, longest);
        close += spacing <= part ? 1 : 0;
    }
    *out = (spacings_seen){shortest, longest, close};
}

bool row_bursts_see_all(row_bursts *bursts, const double *t) {
    spacings_seen seen;
    if (bursts->rows != 1)
        return false;
    look_at_spacings(t, bursts->part, &seen);
    if (!(seen.shortest > bursts->near))
        return false;
    bursts->longest = seen.longest;
    bursts->close = (size_t)seen.close;
    row_bursts_settle(bursts, t[ROW_BURSTS_SPACINGS - 1]);
    return true;
}
