/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The least of many quadratic costs, for every value between two ends: what functional pruning asks
 * at every step.
 * Source: Rigaill 2015, 'A pruned dynamic programming algorithm to recover the best segmentations
 * with 1 to K_max change-points', J. Soc. Fr. Stat. 156:180-205; for quadratics that do not nest,
 * Fearnhead, Maidstone & Letchford 2019, J. Comput. Graph. Stat. 28:265-275, appendix. */
#ifndef SHOT_SIGNAL_LINE_ENVELOPE_H
#define SHOT_SIGNAL_LINE_ENVELOPE_H

#include "signal/line_sums.h"

/* From the value `from` to that of the next stretch, or to the upper end, cost[best] is least. */
typedef struct line_stretch {
    double from;
    size_t best;
} line_stretch;

typedef struct line_envelope {
    const line_cost *cost; /* borrowed [count]; those with a NaN take no part */
    size_t count;
    double low, high;      /* ends, low < high */
    line_stretch *stretch; /* borrowed, room for 2 count; two quadratics cross twice at most */
    size_t stretches;      /* filled by line_envelope_find; 0 if no cost takes part */
} line_envelope;

void line_envelope_find(line_envelope *envelope);

/* Whether `cost` is above the envelope by more than `by` for every value between the ends. */
bool line_envelope_exceeded(const line_envelope *envelope, const line_cost *cost, double by);

#endif
