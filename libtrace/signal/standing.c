/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which a channel stands at one figure though noise would not let it. */
#include "signal/standing.h"

#include <math.h>
#include <stdint.h>

static const double RARE = 1e-3;

/* How many samples around sample i have its value. */
static size_t run_around(const double *y, size_t n, size_t i) {
    size_t from = i, to = i + 1;
    while (from > 0 && y[from - 1] == y[i])
        from--;
    while (to < n && y[to] == y[i])
        to++;
    return to - from;
}

/* A run holds two of the samples that lie half its length apart. */
bool standing_any(const double *y, size_t n) {
    enum { HALF = STANDING_LEAST / 2 };
    for (size_t i = 0; i + HALF < n; i += HALF)
        if (y[i] == y[i + HALF] && run_around(y, n, i) >= STANDING_LEAST)
            return true;
    return false;
}

size_t standing_leave_out(const double *y, size_t n, size_t least, size_t beside, double *out) {
    size_t left = 0, done = 0; /* done: samples that are judged */
    for (size_t from = 0, to; from < n; from = to) {
        for (to = from + 1; to < n && y[to] == y[from];)
            to++;
        if (to - from < least)
            continue;
        const size_t first = from > beside ? from - beside : 0;
        const size_t last = n - to > beside ? to + beside : n;
        left += first > done ? first - done : 0;
        for (size_t i = first; i < last; i++)
            out[i] = INFINITY;
        done = last;
    }
    return left + n - done;
}

size_t standing_beyond_chance(double stay, size_t n) {
    if (!(stay < 1))
        return SIZE_MAX;
    const double length = 1 + log(RARE / (double)n) / log(stay);
    return length < STANDING_LEAST ? STANDING_LEAST
           : length < (double)n    ? (size_t)ceil(length)
                                   : SIZE_MAX;
}
