/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra of overlapping segments of a run. */
#include <shottrace/signal/segment_spectra.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/lomb_scargle.h>
#include <shottrace/signal/median.h>
#include <shottrace/signal/welch.h>

#include "signal/pi.h"

static const double COMPLETE = 0.7; /* part of its samples that a segment must have */
static const double ON_GRID = 0.01; /* intervals by which a time of an even grid may be off */

void shot_segment_spectra_free(shot_segment_spectra *s) {
    free(s->from);
    free(s->frequency);
    free(s->power);
    *s = (shot_segment_spectra){0};
}

/* The largest of 1, 0.1, .. 1e-6 s of which all times are whole multiples: the step of the clock
 * that wrote them; 0 if there is none. */
static double clock_step(const double *t, size_t n) {
    double ticks = 1;
    for (int digits = 0; digits <= 6; digits++, ticks *= 10) {
        size_t i = 0;
        while (i < n && fabs(t[i] * ticks - round(t[i] * ticks)) < 1e-6)
            i++;
        if (i == n)
            return 1 / ticks;
    }
    return 0;
}

/* Even but for the rounding of the clock, whose pattern would turn a slope into a tone. */
static bool is_even(const double *t, size_t n) {
    const double interval = (t[n - 1] - t[0]) / (double)(n - 1);
    const double clock = clock_step(t, n);
    const double tolerance = fmax(ON_GRID * interval, clock < interval ? 1.01 * clock : 0);
    for (size_t i = 0; i < n; i++)
        if (fabs(t[i] - t[0] - interval * (double)i) > tolerance)
            return false;
    return true;
}

/* Samples a second: from the mean interval of an even grid, else from the median one. */
static shot_status find_rate(const double *t, size_t n, shot_segment_spectra *s) {
    double *interval = malloc(n * sizeof *interval);
    if (interval == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 1; i < n; i++)
        interval[i - 1] = t[i] - t[i - 1];
    s->even = is_even(t, n);
    s->rate = s->even ? (double)(n - 1) / (t[n - 1] - t[0]) : 1 / shot_median(interval, n - 1);
    free(interval);
    return SHOT_OK;
}

static size_t first_at(const double *t, size_t n, size_t i, double time) {
    while (i < n && t[i] < time)
        i++;
    return i;
}

/* Samples among which those of from..from + length are a segment. */
typedef struct segment {
    const double *t, *y;
    size_t n;
    double from, length;
} segment;

/* Those of the segment, freed of their line and tapered; *weight gets the sum of squared weights.
 * The arrays have room for all samples. */
static size_t cut_out(const segment *s, double *times, double *values, double *weight) {
    double sum = 0, sum_t = 0, moment = 0, spread = 0;
    size_t m = 0;
    for (size_t i = first_at(s->t, s->n, 0, s->from); i < s->n && s->t[i] < s->from + s->length;
         i++) {
        times[m] = s->t[i] - s->from;
        values[m] = s->y[i];
        sum += s->y[i];
        sum_t += times[m++];
    }
    const double mean = sum / (double)m, middle = sum_t / (double)m;
    for (size_t i = 0; i < m; i++) {
        moment += (times[i] - middle) * (values[i] - mean);
        spread += (times[i] - middle) * (times[i] - middle);
    }
    const double slope = spread > 0 ? moment / spread : 0;
    *weight = 0;
    for (size_t i = 0; i < m; i++) {
        const double w = 0.5 - 0.5 * cos(2 * SHOT_PI * times[i] / s->length);
        values[i] = w * (values[i] - mean - slope * (times[i] - middle));
        *weight += w * w;
    }
    return m;
}

static const shot_lomb_scargle_settings SCARGLE = {SHOT_MEAN_REMOVED, SHOT_POWER_SCARGLE};

/* Lomb-Scargle powers of a segment as densities, of `bins` frequencies from `first` on, one over
 * its length apart: Scargle's P of m samples is |X|^2 / m, a density 2 |X|^2 / (rate sum w^2).
 * Constant samples have none. */
static shot_status uneven_power(const segment *s, double rate, double first, size_t bins,
                                double *power) {
    double *work = malloc(2 * s->n * sizeof *work), weight;
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    const size_t m = cut_out(s, work, work + s->n, &weight);
    const shot_status status =
        shot_lomb_scargle(work, work + s->n, m, first, 1 / s->length, bins, &SCARGLE, power);
    for (size_t k = 0; k < bins; k++)
        power[k] = status == SHOT_OK ? power[k] * 2 * (double)m / (rate * weight) : 0;
    free(work);
    return status == SHOT_ERR_SINGULAR ? SHOT_OK : status;
}

/* A segment of an even grid; its bins 1 .. samples / 2, of which the last is left out. */
static shot_status even_power(const double *y, size_t samples, double rate, size_t bins,
                              double *power) {
    const shot_welch_settings settings = {
        .segment = samples, .window = {SHOT_WINDOW_HANN, 0}, .detrend = SHOT_DETREND_LINE};
    double *all = malloc((samples / 2 + 1) * sizeof *all);
    if (all == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = shot_welch(y, samples, rate, &settings, all, NULL);
    for (size_t k = 0; k < bins && status == SHOT_OK; k++)
        power[k] = all[k + 1];
    free(all);
    return status == SHOT_ERR_SINGULAR ? SHOT_ERR_RANGE : status;
}

/* All segments; samples: what each should have. */
static shot_status fill(const double *t, const double *y, size_t n, size_t samples,
                        shot_segment_spectra *s) {
    size_t i = 0, end = 0;
    for (size_t j = 0;; j++) {
        const double from = s->even ? t[0] + (double)(j * (samples / 2)) / s->rate
                                    : t[0] + (double)j * s->length / 2;
        double *power = s->power + s->segments * s->bins;
        i = s->even ? j * (samples / 2) : first_at(t, n, i, from);
        end = s->even ? i + samples : first_at(t, n, end, from + s->length);
        if (s->even ? end > n : end == n && from + s->length > t[n - 1] + 1 / s->rate)
            return SHOT_OK;
        if ((double)(end - i) < COMPLETE * (double)samples)
            continue;
        s->from[s->segments++] = from;
        const segment one = {t + i, y + i, end - i, from, s->length};
        SHOT_TRY(s->even ? even_power(y + i, samples, s->rate, s->bins, power)
                         : uneven_power(&one, s->rate, s->frequency[0], s->bins, power));
    }
}

/* Room for bins first .. last, in units of 1/length. */
static shot_status make_room(const double *t, size_t n, double first, double last,
                             shot_segment_spectra *s) {
    const double most = (t[n - 1] - t[0]) / s->length * 2 + 2;
    if (!(last >= first))
        return SHOT_ERR_SINGULAR;
    s->bins = (size_t)(last - first) + 1;
    if (!(last < 1e15) || !(most * (double)s->bins < (double)(SIZE_MAX / 16)))
        return SHOT_ERR_RANGE;
    s->from = malloc((size_t)most * sizeof *s->from);
    s->frequency = malloc(s->bins * sizeof *s->frequency);
    s->power = malloc((size_t)most * s->bins * sizeof *s->power);
    if (s->from == NULL || s->frequency == NULL || s->power == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k < s->bins; k++)
        s->frequency[k] = (first + (double)k) / s->length;
    return SHOT_OK;
}

typedef struct band {
    double low, high; /* 0, 0: all below half the rate */
} band;

static shot_status find(const double *t, const double *y, size_t n, double length, band wanted,
                        shot_segment_spectra *s) {
    if (n < 8)
        return SHOT_ERR_SINGULAR;
    for (size_t i = 0; i < n; i++)
        if (!isfinite(y[i]) || !isfinite(t[i]) || (i > 0 && !(t[i] > t[i - 1])))
            return SHOT_ERR_RANGE;
    SHOT_TRY(find_rate(t, n, s));
    if (!(length * s->rate >= 8 - 1e-9) || !isfinite(length))
        return SHOT_ERR_RANGE;
    if (length > (t[n - 1] - t[0]) + 1.5 / s->rate)
        return SHOT_ERR_SINGULAR;
    const size_t samples = 2 * (size_t)(length * s->rate / 2 + 1e-9);
    s->length = s->even ? (double)samples / s->rate : length;
    if (wanted.high > 0 && s->even)
        return SHOT_ERR_SINGULAR;
    if (wanted.high > 0)
        SHOT_TRY(make_room(t, n, ceil(wanted.low * length), floor(wanted.high * length), s));
    else
        SHOT_TRY(make_room(t, n, 1, (double)((samples - 1) / 2), s));
    SHOT_TRY(fill(t, y, n, samples, s));
    const double k = (double)s->segments;
    s->freedom = 36 * k * k / (19 * k - 1);
    return s->segments > 0 ? SHOT_OK : SHOT_ERR_SINGULAR;
}

static shot_status find_or_free(const double *t, const double *y, size_t n, double length,
                                band wanted, shot_segment_spectra *out) {
    *out = (shot_segment_spectra){0};
    const shot_status status = find(t, y, n, length, wanted, out);
    if (status != SHOT_OK)
        shot_segment_spectra_free(out);
    return status;
}

shot_status shot_segment_spectra_find(const double *t, const double *y, size_t n, double length,
                                      shot_segment_spectra *out) {
    return find_or_free(t, y, n, length, (band){0, 0}, out);
}

shot_status shot_segment_spectra_near(const double *t, const double *y, size_t n, double length,
                                      double low, double high, shot_segment_spectra *out) {
    *out = (shot_segment_spectra){0};
    if (!(low > 0) || !(high > low) || !isfinite(high))
        return SHOT_ERR_RANGE;
    return find_or_free(t, y, n, length, (band){low, high}, out);
}

/* The first sample at or after `time`. */
static size_t bisect(const double *t, size_t n, double time) {
    size_t low = 0, high = n;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (t[middle] < time)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The samples of from..from + length: *count of them, from the one returned. */
static size_t find_segment(const double *t, size_t n, double from, double length, size_t *count) {
    const size_t i = bisect(t, n, from);
    *count = first_at(t, n, i, from + length) - i;
    return i;
}

shot_status shot_segment_power(const double *t, const double *y, size_t n, double from,
                               double length, double frequency, double *power) {
    size_t count;
    const size_t i = find_segment(t, n, from, length, &count);
    if (count < 3)
        return SHOT_ERR_SINGULAR;
    const segment one = {t + i, y + i, count, from, length};
    return uneven_power(&one, (double)count / length, frequency, 1, power);
}

shot_status shot_segment_phase(const double *t, const double *y, size_t n, double from,
                               double length, double frequency, double *phase) {
    size_t count;
    const size_t i = find_segment(t, n, from, length, &count);
    double *work = malloc(2 * count * sizeof *work + 1), weight;
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    shot_sinusoid fit;
    shot_status status = SHOT_ERR_SINGULAR;
    if (count >= 3) {
        const segment one = {t + i, y + i, count, from, length};
        cut_out(&one, work, work + count, &weight);
        status =
            shot_lomb_scargle_fit(work, work + count, count, frequency, SHOT_MEAN_REMOVED, &fit);
    }
    free(work);
    if (status != SHOT_OK)
        return status;
    const double turns = fit.phase + frequency * length / 2;
    *phase = turns - floor(turns);
    return SHOT_OK;
}
