/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Band-limited resampling of an evenly sampled run: history, places of the outputs, ends. */
#include <shottrace/signal/bandlimited.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/fraction.h>

#include "signal/bandlimited_kernel.h"

/* An output this near to a sample lies on it: decimal steps are not exact in binary. */
static const double ON_SAMPLE = 1e-9;

/* Ratios are taken as fractions up to this denominator; beyond it the bank would grow too large. */
enum { MAX_UP = 1024 };

struct shot_bandlimited {
    bandlimited_kernel kernel;
    double ratio;
    shot_fraction fraction; /* of the ratio, if it is one of small numbers */
    double offset;
    double *x; /* history, owned [capacity]; x[0] is sample `first` of the run */
    size_t capacity, count;
    int64_t first;    /* may lie before the run's sample 0: the reflection */
    int64_t received; /* samples of the run so far */
    uint64_t made;    /* outputs of the run so far */
};

static int is_quality(shot_bandlimited_quality q) {
    return q.attenuation >= 21 && q.attenuation <= 160 && q.keep > 0 && q.keep < 1;
}

shot_status shot_bandlimited_new(double ratio, double offset, shot_bandlimited_quality quality,
                                 shot_bandlimited **out) {
    *out = NULL;
    if (!(ratio > 0) || !isfinite(ratio) || !(offset >= 0) || !isfinite(offset) ||
        !is_quality(quality))
        return SHOT_ERR_RANGE;
    shot_bandlimited *b = calloc(1, sizeof *b);
    if (b == NULL)
        return SHOT_ERR_MEMORY;
    b->ratio = ratio;
    b->fraction = shot_fraction_of(ratio, MAX_UP);
    shot_status status = bandlimited_kernel_make(ratio, b->fraction.under, quality, &b->kernel);
    if (status == SHOT_OK) {
        /* Two half lengths of history, one of reflection, and room to work in. */
        b->capacity = 4 * b->kernel.half + 1024;
        b->x = malloc(b->capacity * sizeof *b->x);
        status = b->x == NULL ? SHOT_ERR_MEMORY : SHOT_OK;
    }
    if (status != SHOT_OK) {
        shot_bandlimited_free(b);
        return status;
    }
    shot_bandlimited_reset(b, offset);
    *out = b;
    return SHOT_OK;
}

void shot_bandlimited_free(shot_bandlimited *b) {
    if (b == NULL)
        return;
    bandlimited_kernel_clear(&b->kernel);
    free(b->x);
    free(b);
}

void shot_bandlimited_reset(shot_bandlimited *b, double offset) {
    b->offset = offset;
    b->first = -(int64_t)b->kernel.half;
    b->count = b->kernel.half; /* kept free for the reflection at the start */
    b->received = 0;
    b->made = 0;
}

size_t shot_bandlimited_look_ahead(const shot_bandlimited *b) {
    return b->kernel.half;
}

size_t shot_bandlimited_room(const shot_bandlimited *b, size_t n) {
    const double span = (double)b->received + (double)n - b->offset;
    const double total = span < 0 ? 1 : span / b->ratio + 2;
    return total > (double)b->made ? (size_t)(total - (double)b->made) : 0;
}

typedef struct place { /* of an output: `phase` after sample i of the run */
    int64_t i;
    double phase;
} place;

static place place_of(const shot_bandlimited *b, uint64_t output) {
    const uint64_t over = b->fraction.over, under = b->fraction.under;
    const uint64_t whole = under > 0 ? output * over / under : 0;
    const double rest =
        under > 0 ? (double)(output * over % under) / (double)under : (double)output * b->ratio;
    const double part = rest + b->offset, below = floor(part + ON_SAMPLE);
    return (place){(int64_t)whole + (int64_t)below, fmax(0, part - below)};
}

static double *sample(const shot_bandlimited *b, int64_t i) {
    return b->x + (i - b->first);
}

/* On the first or the last sample the odd reflection makes the filtered value that sample, but for
 * rounding. */
static int is_end(place p, place end) {
    return p.phase == 0 && (p.i == 0 || p.i == end.i);
}

/* Write the outputs whose samples up to `last` are known, and that lie at `end` at the latest. */
static size_t emit(shot_bandlimited *b, int64_t last, place end, double *y) {
    size_t n = 0;
    for (;;) {
        const place p = place_of(b, b->made);
        if (p.i + (int64_t)b->kernel.half > last || p.i > end.i ||
            (p.i == end.i && p.phase > end.phase))
            return n;
        y[n++] = is_end(p, end) ? *sample(b, p.i)
                                : bandlimited_kernel_apply(&b->kernel, sample(b, p.i), p.phase);
        b->made++;
    }
}

/* Forget samples that neither an output nor the reflection at the end will look at. */
static void forget(shot_bandlimited *b) {
    const int64_t half = (int64_t)b->kernel.half;
    const int64_t for_output = place_of(b, b->made).i - half + 1;
    const int64_t for_end = b->received - 1 - half;
    const int64_t keep = for_output < for_end ? for_output : for_end;
    if (keep <= b->first)
        return;
    const size_t drop = (size_t)(keep - b->first);
    memmove(b->x, b->x + drop, (b->count - drop) * sizeof *b->x);
    b->count -= drop;
    b->first = keep;
}

static void reflect_start(shot_bandlimited *b) {
    const double *x = sample(b, 0);
    for (int64_t k = 1; k <= (int64_t)b->kernel.half; k++)
        *sample(b, -k) = 2 * x[0] - x[k];
}

size_t shot_bandlimited_push(shot_bandlimited *b, const double *x, size_t n, double *y) {
    const int64_t half = (int64_t)b->kernel.half;
    size_t made = 0;
    while (n > 0) {
        if (b->count + b->kernel.half == b->capacity)
            forget(b);
        const size_t free_room = b->capacity - b->kernel.half - b->count;
        const size_t take = n < free_room ? n : free_room;
        const int64_t before = b->received;
        memcpy(b->x + b->count, x, take * sizeof *x);
        b->count += take;
        b->received += (int64_t)take;
        if (before <= half && b->received > half)
            reflect_start(b);
        if (b->received > half)
            made += emit(b, b->received - 1, (place){b->received, 0}, y + made);
        x += take;
        n -= take;
    }
    return made;
}

/* Sample k of a run x[0..n) continued by odd reflection at both ends: a straight line through the
 * ends plus a part with the period 2 (n - 1). */
static double reflected(const double *x, int64_t n, int64_t k) {
    if (n == 1)
        return x[0];
    const int64_t period = 2 * (n - 1);
    const int64_t turns = k >= 0 ? k / period : -((-k + period - 1) / period);
    const int64_t r = k - turns * period;
    const double base = r < n ? x[r] : 2 * x[n - 1] - x[period - r];
    return base + (double)turns * (2 * (x[n - 1] - x[0]));
}

size_t shot_bandlimited_finish(shot_bandlimited *b, double *y) {
    const int64_t half = (int64_t)b->kernel.half, n = b->received;
    if (n == 0)
        return 0;
    if (n > half) {
        forget(b);
        const double *x = sample(b, n - 1);
        for (int64_t k = 1; k <= half; k++)
            *sample(b, n - 1 + k) = 2 * x[0] - x[-k];
    } else {
        const double *x = sample(b, 0);
        for (int64_t k = 1; k <= half; k++) {
            *sample(b, -k) = reflected(x, n, -k);
            *sample(b, n - 1 + k) = reflected(x, n, n - 1 + k);
        }
    }
    return emit(b, n - 1 + half, (place){n - 1, 0}, y);
}
