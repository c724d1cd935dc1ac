/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an opening of the wrong shape leaves of the true one looks as if the trend wandered, the
 * more the less noise there is; wander hides the opening in turn.  So shape and wander are fitted
 * by turns, each to the other, until neither changes (cyclic ascent). */
#include "detect/surge_refine.h"

#include <math.h>

#include "detect/surge_shapes.h"

static const double reach = 0.4, step = 0.05; /* s around an onset that are tried */
static const double drain_step = 0.1;         /* s */
enum { LANES = CONDUCTANCE_LANES, TURNS = 4, SLOW = SURGE_SLOW_LENGTHS };

/* Of the same sign, and farther from 0. */
static bool is_farther(double score, double than) {
    return score * than > than * than;
}

/* Openings to be tried, as many at once as there are lanes. */
typedef struct trials {
    const surge_scan *scan;
    conductance_opening openings[LANES];
    size_t count;
    surge_candidate *best; /* of those tried */
} trials;

static void try_rest(trials *self) {
    surge_evidence evidence[LANES];
    if (self->count == 0)
        return;
    surge_scan_weigh(self->scan, self->openings, self->count, evidence);
    for (size_t i = 0; i < self->count; i++)
        if (is_farther(evidence[i].score, self->best->evidence.score))
            *self->best = (surge_candidate){self->openings[i], evidence[i]};
    self->count = 0;
}

static void try(trials *self, conductance_opening one) {
    self->openings[self->count++] = one;
    if (self->count == LANES)
        try_rest(self);
}

/* Lengths and forms with what comes after as it is, then what comes after. */
static void try_shapes(const surge_scan *scan, surge_candidate *best) {
    trials self = {.scan = scan, .best = best};
    for (size_t s = 0; s < SURGE_SHAPES; s += SURGE_AFTERS) {
        const conductance_opening *at = &best->opening;
        conductance_opening one = surge_shape(s, at->onset, at->drain);
        one.scar = at->scar;
        one.healing = at->healing;
        one.gate = at->gate;
        try(&self, one);
    }
    try_rest(&self);
    for (size_t s = 0; s < SURGE_AFTERS; s++) {
        const conductance_opening after = surge_shape(s, 0, 0);
        conductance_opening one = best->opening;
        one.scar = after.scar;
        one.healing = after.healing;
        try(&self, one);
    }
    try_rest(&self);
}

static void try_onsets(const surge_scan *scan, surge_candidate *best) {
    trials self = {.scan = scan, .best = best};
    const conductance_opening at = best->opening;
    const int steps = (int)round(reach / step);
    for (int i = -steps; i <= steps; i++) {
        conductance_opening one = at;
        one.onset += i * step;
        try(&self, one);
    }
    try_rest(&self);
}

static void try_drains(const surge_scan *scan, surge_candidate *best) {
    trials self = {.scan = scan, .best = best};
    const int steps = (int)round(surge_longest_drain / drain_step);
    const bool tells = surge_scan_drains(scan) && scan->channel_count > 1;
    for (int i = 0; i <= steps && tells; i++) {
        conductance_opening one = best->opening;
        one.drain = i * drain_step;
        try(&self, one);
    }
    try_rest(&self);
}

static void try_gates(const surge_scan *scan, surge_candidate *best) {
    trials self = {.scan = scan, .best = best};
    for (size_t i = 0; i < SURGE_GATES && surge_scan_counts(scan); i++) {
        conductance_opening one = best->opening;
        one.gate = surge_gates[i];
        try(&self, one);
    }
    try_rest(&self);
}

/* The best opening in reach, the filters as they are. */
static void climb(const surge_scan *scan, surge_candidate *best) {
    for (int turn = 0; turn < TURNS; turn++) {
        const double score = best->evidence.score;
        try_shapes(scan, best);
        try_onsets(scan, best);
        try_drains(scan, best);
        try_gates(scan, best);
        if (!(fabs(best->evidence.score) > fabs(score)))
            return;
    }
}

shot_status surge_refine(surge_scan *scan, surge_candidate *candidate) {
    for (int turn = 0; turn < TURNS; turn++) {
        SHOT_TRY(surge_scan_fit(scan, &candidate->opening));
        surge_scan_weigh(scan, &candidate->opening, 1, &candidate->evidence);
        const double score = candidate->evidence.score;
        climb(scan, candidate);
        if (!(fabs(candidate->evidence.score) > fabs(score)))
            return SHOT_OK;
    }
    SHOT_TRY(surge_scan_fit(scan, &candidate->opening));
    surge_scan_weigh(scan, &candidate->opening, 1, &candidate->evidence);
    return SHOT_OK;
}

/* ---- what takes longer ---- */

static conductance_opening slow_opening(size_t i, double onset, double drain) {
    return (conductance_opening){.onset = onset,
                                 .seconds = surge_slow_lengths[i],
                                 .form = CONDUCTANCE_EVEN,
                                 .scar = 1,
                                 .drain = drain};
}

/* All that reach into the time from..to. */
static void try_slow(const surge_scan *scan, double from, double to, surge_candidate *best) {
    trials self = {.scan = scan, .best = best};
    const double drain = best->opening.drain;
    for (double onset = to - surge_slow_lengths[SLOW - 1]; onset <= from + surge_slow_step;
         onset += surge_slow_step)
        for (size_t i = 0; i < SLOW; i++)
            if (onset + surge_slow_lengths[i] >= to)
                try(&self, slow_opening(i, onset, drain));
    try_rest(&self);
}

static shot_status refine_slow(surge_scan *scan, const surge_candidate *candidate, double *out) {
    const double from = candidate->opening.onset, to = from + candidate->opening.seconds;
    surge_candidate one = {.opening = slow_opening(1, from, candidate->opening.drain)};
    for (int turn = 0; turn < TURNS; turn++) {
        SHOT_TRY(surge_scan_fit(scan, &one.opening));
        surge_scan_weigh(scan, &one.opening, 1, &one.evidence);
        const double score = one.evidence.score;
        try_slow(scan, from, to, &one);
        if (!(fabs(one.evidence.score) > fabs(score)))
            break;
    }
    SHOT_TRY(surge_scan_fit(scan, &one.opening));
    *out = surge_scan_likelihood_with(scan, &one.opening, copysign(1, candidate->evidence.gain));
    return SHOT_OK;
}

/* The next fit starts from where the wander stood. */
shot_status surge_refine_slow(surge_scan *scan, const surge_candidate *candidate, double *out) {
    int place[2] = {0};
    *out = -INFINITY;
    for (size_t k = 0; k < scan->channel_count; k++)
        place[k] = scan->channels[k].place;
    shot_status status = refine_slow(scan, candidate, out);
    for (size_t k = 0; k < scan->channel_count; k++)
        scan->channels[k].place = place[k];
    return status;
}
