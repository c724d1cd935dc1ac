/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logger that writes a channel only where its value changes. */
#include "signal/on_change.h"

#include <math.h>

/* Where a channel is written at a pace of its own, a figure that moves by at most one step from
 * sample to sample stays at least as often as it goes up, or down: noise has its mode at no
 * difference.  That none of `few` such pairs stays has a chance of under (2/3)^few then, 0.0003. A
 * ramp of one step a sample would do the same, but at one spacing. */
bool is_on_change(const double *t, const double *y, size_t n, double step) {
    enum { FEW = 20 };
    size_t moves = 0, stays = 0;
    double shortest = INFINITY, longest = 0;
    for (size_t i = 1; i < n && step > 0 && stays == 0; i++) {
        const double spacing = t[i] - t[i - 1];
        stays += y[i] == y[i - 1];
        moves += fabs(fabs(y[i] - y[i - 1]) - step) < 0.1 * step;
        shortest = fmin(shortest, spacing);
        longest = fmax(longest, spacing);
    }
    return moves >= FEW && stays == 0 && longest > 3 * shortest;
}

bool may_be_on_change(const double *y, size_t n) {
    for (size_t i = 1; i < n; i++)
        if (y[i] == y[i - 1])
            return false;
    return true;
}
