/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How good the record of one channel is. */
#include "judge/check_channel.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/resolution.h>
#include <shottrace/signal/sample_gaps.h>

#include "signal/flat_finder.h"
#include "signal/held_values.h"
#include "signal/intervals.h"
#include "signal/on_change.h"
#include "signal/zero_finder.h"

/* As shot-clean has them: a flat stretch is one that fewer than one in a thousand shots would show,
 * and 2 s are waited for an idle part. */
static const double flat_rarity = 1000;
static const double idle = 2;

/* The samples of the channel. */
typedef struct samples {
    double *t, *y, *work; /* owned: one block behind t */
    size_t n;
} samples;

static shot_status samples_of(const shot_rows *rows, size_t index, samples *out) {
    const size_t work = held_noise_workspace(rows->rows) + rows->rows;
    out->t = malloc((2 * rows->rows + work + 1) * sizeof *out->t);
    if (out->t == NULL)
        return SHOT_ERR_MEMORY;
    out->y = out->t + rows->rows;
    out->work = out->y + rows->rows;
    for (size_t i = 0; i < rows->rows; i++)
        if (!isnan(rows->column[index][i])) {
            out->t[out->n] = rows->column[0][i];
            out->y[out->n++] = rows->column[index][i];
        }
    return SHOT_OK;
}

static void samples_free(samples *s) {
    free(s->t);
}

/* ---- time ---- */

static void find_rate(const samples *s, check_channel *out) {
    double median;
    out->rate = out->jitter = NAN;
    if (s->n < 3)
        return;
    for (size_t i = 1; i < s->n; i++)
        s->work[i - 1] = s->t[i] - s->t[i - 1];
    /* 1.4826: the median absolute deviation of a normal variable (Hampel 1974) */
    const double mad = shot_median_mad(s->work, s->n - 1, &median);
    out->rate = 1 / interval_tidied(median);
    out->jitter = mad > 1e-9 * median ? 1.482602218505602 * mad / median : 0; /* else rounding */
}

static shot_status count_gaps(const samples *s, check_channel *out) {
    shot_sample_gaps *gaps;
    shot_gap gap;
    SHOT_TRY(shot_sample_gaps_new((shot_gap_rule){.factor = SHOT_GAP_FACTOR}, &gaps));
    shot_status status = SHOT_OK;
    for (size_t i = 0; i <= s->n && status == SHOT_OK; i++) {
        bool ready = true;
        if (i == s->n)
            shot_sample_gaps_finish(gaps);
        else
            status = shot_sample_gaps_push(gaps, s->t[i]);
        while (status == SHOT_OK && ready) {
            status = shot_sample_gaps_next(gaps, &gap, &ready);
            if (status != SHOT_OK || !ready)
                break;
            out->gaps++;
            out->longest_gap = fmax(out->longest_gap, gap.to - gap.from);
        }
    }
    shot_sample_gaps_free(gaps);
    return status;
}

/* ---- values ---- */

static shot_status find_zero(const samples *s, check_channel *out) {
    zero_finder finder = {0};
    zero_finder_begin(&finder, idle, false);
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < s->n && status == SHOT_OK; i++)
        status = zero_finder_row(&finder, s->t[i], s->y[i]);
    if (status == SHOT_OK)
        status = zero_finder_finish(&finder);
    out->zero = status == SHOT_OK ? finder.result.zero + 0.0 : NAN; /* no -0 */
    zero_finder_free(&finder);
    return status;
}

/* A sensor that was clipped or stuck says nothing of its noise. */
static void forget(samples *s, double from, double to) {
    for (size_t i = 0; i < s->n; i++)
        s->y[i] = s->t[i] >= from && s->t[i] <= to ? NAN : s->y[i];
}

static shot_status find_flats(samples *s, bool adds_up, check_channel *out) {
    flat_finder finder = {0};
    SHOT_TRY(flat_finder_begin(&finder, flat_rarity, adds_up));
    flat_finder_push(&finder, s->t, s->y, s->n);
    const size_t count = flat_finder_finish(&finder);
    for (size_t i = 0; i < count; i++) {
        const shot_value_run *run = shot_value_runs_at(finder.runs, i);
        const flat_kind kind = flat_finder_judge(&finder, i);
        out->clipped += kind == FLAT_CLIP ? run->to - run->from : 0;
        out->stuck += kind == FLAT_STUCK ? run->to - run->from : 0;
        if (kind != FLAT_NONE)
            forget(s, run->from, run->to);
    }
    flat_finder_free(&finder);
    return SHOT_OK;
}

static void find_noise(const samples *s, check_channel *out) {
    out->step = shot_resolution(s->y, s->n);
    if (held_noise_estimate(s->t, s->y, s->n, out->step, s->work, &out->noise) != SHOT_OK)
        out->noise.sd = NAN;
}

shot_status check_channel_find(const shot_rows *rows, size_t index, bool adds_up,
                               check_channel *out) {
    samples s = {0};
    *out = (check_channel){0};
    shot_status status = samples_of(rows, index, &s);
    if (status == SHOT_OK) {
        out->samples = s.n;
        out->missing = rows->rows - s.n;
        out->on_change = out->missing > 0 && is_on_change(s.t, s.y, s.n, shot_resolution(s.y, s.n));
        find_rate(&s, out);
        status = count_gaps(&s, out);
    }
    if (status == SHOT_OK)
        status = find_zero(&s, out);
    if (status == SHOT_OK)
        status = find_flats(&s, adds_up, out);
    if (status == SHOT_OK)
        find_noise(&s, out);
    samples_free(&s);
    return status;
}

double check_alias(double frequency, double rate) {
    return fabs(frequency - round(frequency / rate) * rate);
}
