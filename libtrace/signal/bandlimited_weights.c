/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the samples of a run weigh in an output of the band-limited resampler. */
#include <string.h>

#include "signal/bandlimited_state.h"

/* The samples of the run that an output at p is made of: those beyond the ends are reflected into
 * these. */
typedef struct span {
    int64_t first, last;
} span;

static span span_of(const shot_bandlimited *b, bandlimited_place p) {
    const int64_t half = (int64_t)b->kernel.half, end = b->received - 1;
    return (span){p.i - half + 1 > 0 ? p.i - half + 1 : 0, p.i + half < end ? p.i + half : end};
}

/* Weights as they add up: weight[0] is that of sample `first` of the run. */
typedef struct sums {
    int64_t first;
    double *weight;
} sums;

static void add(sums to, int64_t k, double share) {
    to.weight[k - to.first] += share;
}

/* Sample k of a run x[0..n) that is shorter than the kernel, continued by odd reflection at both
 * ends again and again: a straight line through the ends plus a part with the period 2 (n - 1). */
static void add_in_short_run(sums to, int64_t k, int64_t n, double share) {
    const int64_t period = 2 * (n - 1);
    if (n == 1) {
        add(to, 0, share);
        return;
    }
    const int64_t turns = k >= 0 ? k / period : -((-k + period - 1) / period);
    const int64_t r = k - turns * period;
    add(to, r < n ? r : period - r, r < n ? share : -share);
    add(to, n - 1, r < n ? 0 : 2 * share);
    add(to, n - 1, 2 * (double)turns * share);
    add(to, 0, -2 * (double)turns * share);
}

/* Sample k of the run, or what stands for it beyond the ends. */
static void add_sample(sums to, int64_t k, int64_t n, double share) {
    const int64_t before = -k, behind = 2 * (n - 1) - k;
    if (k >= 0 && k < n) {
        add(to, k, share);
    } else if (k < 0 && before < n) {
        add(to, 0, 2 * share);
        add(to, before, -share);
    } else if (k >= n && behind >= 0) {
        add(to, n - 1, 2 * share);
        add(to, behind, -share);
    } else {
        add_in_short_run(to, k, n, share);
    }
}

/* `share` times the weights of the output of one step at p. */
static void add_output(shot_bandlimited *b, bandlimited_place p, double share, sums to) {
    const int64_t half = (int64_t)b->kernel.half, n = b->received;
    if (bandlimited_is_end(p, (bandlimited_place){n - 1, 0})) {
        add(to, p.i, share);
        return;
    }
    bandlimited_kernel_weights(&b->kernel, p.phase, b->row);
    for (int64_t j = 0; j < 2 * half; j++)
        add_sample(to, p.i - half + 1 + j, n, share * b->row[j]);
}

static size_t step_weights(shot_bandlimited *b, uint64_t output, uint64_t *first, double *weight) {
    const bandlimited_place p = bandlimited_place_of(b, output);
    const span s = span_of(b, p);
    *first = (uint64_t)s.first;
    memset(weight, 0, (size_t)(s.last - s.first + 1) * sizeof *weight);
    add_output(b, p, 1, (sums){s.first, weight});
    return (size_t)(s.last - s.first + 1);
}

size_t shot_bandlimited_span(const shot_bandlimited *b) {
    if (b->before == NULL)
        return 2 * b->kernel.half;
    return 2 * b->kernel.half * (size_t)b->factor + 2 * b->before->kernel.half + 1;
}

size_t shot_bandlimited_weights(shot_bandlimited *b, uint64_t output, uint64_t *first,
                                double *weight) {
    if (b->before == NULL)
        return step_weights(b, output, first, weight);
    uint64_t from;
    const size_t n = step_weights(b, output, &from, b->middle);
    const span low = span_of(b->before, bandlimited_place_of(b->before, from));
    const span high = span_of(b->before, bandlimited_place_of(b->before, from + n - 1));
    memset(weight, 0, (size_t)(high.last - low.first + 1) * sizeof *weight);
    for (size_t j = 0; j < n; j++)
        add_output(b->before, bandlimited_place_of(b->before, from + j), b->middle[j],
                   (sums){low.first, weight});
    *first = (uint64_t)low.first;
    return (size_t)(high.last - low.first + 1);
}
