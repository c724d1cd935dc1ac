/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Band-limited resampling of an evenly sampled run: history, places of the outputs, ends. */
#include <shottrace/signal/bandlimited.h>

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bandlimited_state.h"

/* Ratios are taken as fractions up to this denominator; beyond it the bank would grow too large. */
enum { MAX_UP = 1024 };

/* Samples that a step takes in between two moves of its history. */
enum { WORK = 8192 };

static int is_quality(shot_bandlimited_quality q) {
    return q.attenuation >= 21 && q.attenuation <= 160 && q.keep > 0 && q.keep < 1;
}

/* One step. */
static shot_status new_step(const bandlimited_design *design, shot_bandlimited **out) {
    shot_bandlimited *b = calloc(1, sizeof *b);
    *out = b;
    if (b == NULL)
        return SHOT_ERR_MEMORY;
    b->ratio = design->ratio;
    b->fraction = shot_fraction_of(b->ratio, MAX_UP);
    bandlimited_design with_up = *design;
    with_up.up = b->fraction.under;
    SHOT_TRY(bandlimited_kernel_make(&with_up, &b->kernel));
    /* Two half lengths of history, one of reflection, and room to work in: with more of it what is
     * kept moves less often. */
    b->capacity = 4 * b->kernel.half + WORK;
    b->x = malloc(b->capacity * sizeof *b->x);
    b->row = malloc(4 * b->kernel.half * sizeof *b->row);
    if (b->x == NULL || b->row == NULL)
        return SHOT_ERR_MEMORY;
    b->middle = b->row + 2 * b->kernel.half;
    return SHOT_OK;
}

/* Ratios from here on are worth two steps, the second of them of at least LAST. */
enum { TWO_STEPS = 16, LAST = 4 };

/* What two steps with a first one of d cost an input sample, relative to the length of a filter
 * with a transition band of one cycle a sample: lengths are inverse to the transition bands, 1/d -
 * 1/ratio and (1 - keep) d / (2 ratio), and an output of each is due every d and every `ratio`
 * inputs. */
static double cost(double ratio, double d, double keep) {
    return 1 / (1 - d / ratio) + 2 / ((1 - keep) * d);
}

/* The best first factor of a whole ratio; 1 if there is none that halves the cost at least. */
static uint64_t first_factor(double ratio, double keep) {
    if (ratio < TWO_STEPS || ratio > 1e9 || floor(ratio) != ratio)
        return 1;
    const uint64_t whole = (uint64_t)ratio;
    uint64_t best = 1;
    double least = 0.5 * 2 / (1 - keep); /* half of one step's */
    for (uint64_t d = 2; d * LAST <= whole && d < 100000; d++)
        if (whole % d == 0 && cost(ratio, (double)d, keep) < least) {
            best = d;
            least = cost(ratio, (double)d, keep);
        }
    return best;
}

/* Twice as small errors, where two steps add theirs. */
static const double TWO_STEPS_DB = 6;

static shot_status new_steps(double ratio, shot_bandlimited_quality quality,
                             shot_bandlimited **out) {
    const uint64_t factor = first_factor(ratio, quality.keep);
    const double nyquist = 0.5 / fmax(1, ratio); /* of the lower rate, per input sample */
    const double d = (double)factor;
    if (factor == 1)
        return new_step(&(bandlimited_design){.ratio = ratio,
                                              .pass = quality.keep * nyquist,
                                              .stop = nyquist,
                                              .attenuation = quality.attenuation},
                        out);
    const double attenuation = quality.attenuation + TWO_STEPS_DB;
    SHOT_TRY(new_step(&(bandlimited_design){.ratio = ratio / d,
                                            .pass = quality.keep * nyquist * d,
                                            .stop = nyquist * d,
                                            .attenuation = attenuation},
                      out));
    (*out)->factor = factor;
    return new_step(
        &(bandlimited_design){
            .ratio = d, .pass = nyquist, .stop = 1 / d - nyquist, .attenuation = attenuation},
        &(*out)->before);
}

shot_status shot_bandlimited_new(double ratio, double offset, shot_bandlimited_quality quality,
                                 shot_bandlimited **out) {
    *out = NULL;
    if (!(ratio > 0) || !isfinite(ratio) || !(offset >= 0) || !isfinite(offset) ||
        !is_quality(quality))
        return SHOT_ERR_RANGE;
    const shot_status status = new_steps(ratio, quality, out);
    if (status != SHOT_OK) {
        shot_bandlimited_free(*out);
        *out = NULL;
        return status;
    }
    shot_bandlimited_reset(*out, offset);
    return SHOT_OK;
}

void shot_bandlimited_free(shot_bandlimited *b) {
    if (b == NULL)
        return;
    shot_bandlimited_free(b->before);
    bandlimited_kernel_clear(&b->kernel);
    free(b->x);
    free(b->row);
    free(b);
}

/* With two steps, the places of the first are chosen so that every output lies on one. */
void shot_bandlimited_reset(shot_bandlimited *b, double offset) {
    b->offset = offset;
    if (b->before != NULL) {
        const double d = (double)b->factor, rest = fmod(offset, d);
        shot_bandlimited_reset(b->before, rest);
        b->offset = (offset - rest) / d;
    }
    b->first = -(int64_t)b->kernel.half;
    b->count = b->kernel.half; /* kept free for the reflection at the start */
    b->received = 0;
    b->made = 0;
}

size_t shot_bandlimited_room(const shot_bandlimited *b, size_t n) {
    if (b->before != NULL)
        n = shot_bandlimited_room(b->before, n);
    const double span = (double)b->received + (double)n - b->offset;
    const double total = span < 0 ? 1 : span / b->ratio + 2;
    return total > (double)b->made ? (size_t)(total - (double)b->made) : 0;
}

static double *sample(const shot_bandlimited *b, int64_t i) {
    return b->x + (i - b->first);
}

static bool is_due(const shot_bandlimited *b, bandlimited_place p, int64_t last,
                   bandlimited_place end) {
    return p.i + (int64_t)b->kernel.half <= last &&
           (p.i < end.i || (p.i == end.i && p.phase <= end.phase));
}

/* Where the ratio is whole, all outputs lie at one phase, and go four by four. */
static size_t emit_fours(shot_bandlimited *b, int64_t last, bandlimited_place end, double *y) {
    size_t n = 0;
    while (b->fraction.under == 1) {
        const bandlimited_place p = bandlimited_place_of(b, b->made),
                                fourth = bandlimited_place_of(b, b->made + 3);
        if (!is_due(b, fourth, last, end) || bandlimited_is_end(p, end) ||
            bandlimited_is_end(fourth, end))
            return n;
        bandlimited_kernel_apply_four(&b->kernel, sample(b, p.i), (size_t)b->fraction.over, p.phase,
                                      y + n);
        n += 4;
        b->made += 4;
    }
    return n;
}

/* Write the outputs whose samples up to `last` are known, and that lie at `end` at the latest. */
static size_t emit(shot_bandlimited *b, int64_t last, bandlimited_place end, double *y) {
    size_t n = 0;
    for (;;) {
        n += emit_fours(b, last, end, y + n);
        const bandlimited_place p = bandlimited_place_of(b, b->made);
        if (!is_due(b, p, last, end))
            return n;
        y[n++] = bandlimited_is_end(p, end)
                     ? *sample(b, p.i)
                     : bandlimited_kernel_apply(&b->kernel, sample(b, p.i), p.phase);
        b->made++;
    }
}

/* Forget samples that neither an output nor the reflection at the end will look at. */
static void forget(shot_bandlimited *b) {
    const int64_t half = (int64_t)b->kernel.half;
    const int64_t for_output = bandlimited_place_of(b, b->made).i - half + 1;
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

static size_t push_step(shot_bandlimited *b, const double *x, size_t n, double *y) {
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
            made += emit(b, b->received - 1, (bandlimited_place){b->received, 0}, y + made);
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

static size_t finish_step(shot_bandlimited *b, double *y) {
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
    return emit(b, n - 1 + half, (bandlimited_place){n - 1, 0}, y);
}

/* Outputs of the first step that go to the second at once. */
enum { HAND = 512 };

size_t shot_bandlimited_push(shot_bandlimited *b, const double *x, size_t n, double *y) {
    double middle[HAND];
    size_t made = 0;
    if (b->before == NULL)
        return push_step(b, x, n, y);
    const size_t most = (HAND - 2) * (size_t)b->factor;
    for (size_t i = 0; i < n; i += most) {
        const size_t take = n - i < most ? n - i : most;
        const size_t count = push_step(b->before, x + i, take, middle);
        made += push_step(b, middle, count, y + made);
    }
    return made;
}

size_t shot_bandlimited_finish(shot_bandlimited *b, double *y) {
    size_t made = 0;
    if (b->before != NULL) {
        double middle[HAND];
        const size_t count = finish_step(b->before, middle);
        made = push_step(b, middle, count, y);
    }
    return made + finish_step(b, y + made);
}
