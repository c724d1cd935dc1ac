/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a band-limited resampler remembers, and where its outputs lie. */
#ifndef SHOT_SIGNAL_BANDLIMITED_STATE_H
#define SHOT_SIGNAL_BANDLIMITED_STATE_H

#include <math.h>
#include <stdint.h>

#include <shottrace/signal/bandlimited.h>
#include <shottrace/signal/fraction.h>

#include "signal/bandlimited_kernel.h"

/* A large whole ratio is taken in two steps: a short filter first, which only has to keep what
 * would fold into the final band out of it, then the sharp one at a rate that is far lower
 * (Crochiere & Rabiner 1975, 'Optimum FIR digital filter implementations for decimation,
 * interpolation and narrow-band filtering', IEEE Trans. ASSP 23:444-456). */
struct shot_bandlimited {
    shot_bandlimited *before; /* the first step, owned; NULL if there is only one */
    uint64_t factor;          /* ... its ratio */
    bandlimited_kernel kernel;
    double ratio;
    shot_fraction fraction; /* of the ratio, if it is one of small numbers */
    double offset;
    double *x; /* history, owned [capacity]; x[0] is sample `first` of the run */
    size_t capacity, count;
    double *row, *middle; /* scratch for weights, owned by `row` [2 * 2 * kernel.half] */
    int64_t first;        /* may lie before the run's sample 0: the reflection */
    int64_t received;     /* samples of the run so far */
    uint64_t made;        /* outputs of the run so far */
};

/* An output this near to a sample lies on it: decimal steps are not exact in binary. */
static const double BANDLIMITED_ON_SAMPLE = 1e-9;

typedef struct bandlimited_place { /* of an output: `phase` after sample i of the run */
    int64_t i;
    double phase;
} bandlimited_place;

static inline bandlimited_place bandlimited_place_of(const shot_bandlimited *b, uint64_t output) {
    const uint64_t over = b->fraction.over, under = b->fraction.under;
    const uint64_t whole = under > 0 ? output * over / under : 0;
    const double rest =
        under > 0 ? (double)(output * over % under) / (double)under : (double)output * b->ratio;
    const double part = rest + b->offset, below = floor(part + BANDLIMITED_ON_SAMPLE);
    return (bandlimited_place){(int64_t)whole + (int64_t)below, fmax(0, part - below)};
}

/* On the first or the last sample the odd reflection makes the filtered value that sample, but for
 * rounding. */
static inline int bandlimited_is_end(bandlimited_place p, bandlimited_place end) {
    return p.phase == 0 && (p.i == 0 || p.i == end.i);
}

#endif
