/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which a channel stands at one figure though noise would not let it. */
#include "signal/standing.h"

#include <math.h>
#include <stdint.h>

static const double RARE = 1e-3;

size_t standing_longest(const double *y, size_t n) {
    size_t longest = 1, length = 1;
    for (size_t i = 1; i < n; i++) {
        length = y[i] == y[i - 1] ? length + 1 : 1;
        longest = length > longest ? length : longest;
    }
    return longest;
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
