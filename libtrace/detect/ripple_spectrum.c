/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectrum of one channel and the noise under it. */
#include "detect/ripple_spectrum.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/running_fit.h>
#include <shottrace/signal/sample_quantile.h>

/* Bins 1 .. 3 hold what is left of a line, a bend, a knee after a segment has lost its trend. */
enum { TREND_BINS = 3, LEAST_BINS = 8, LEAST_SAMPLES = 24 };

/* A segment is a transient where its trend bins hold so many times what the quietest quarter of
 * segments hold.  In noise a sum of three bins under a Hann window has about four degrees of
 * freedom and reaches 10 times its lower quartile with a probability of 7e-4 (chi-square). */
static const double TRANSIENT = 10;

void ripple_spectrum_free(ripple_spectrum *s) {
    shot_segment_spectra_free(&s->segments);
    free(s->t);
    free(s->y);
    free(s->quiet);
    free(s->power);
    free(s->false_alarm);
    *s = (ripple_spectrum){0};
}

static shot_status keep_samples(const double *t, const double *y, size_t n, ripple_spectrum *s) {
    s->t = malloc((n + 1) * sizeof *s->t);
    s->y = malloc((n + 1) * sizeof *s->y);
    if (s->t == NULL || s->y == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i])) {
            s->t[s->n] = t[i];
            s->y[s->n++] = y[i];
        }
    return s->n >= 2 * LEAST_SAMPLES ? SHOT_OK : SHOT_ERR_SINGULAR;
}

/* Mean rate over the intervals in which no sample was lost; *usual gets the median interval. */
static shot_status find_rates(ripple_spectrum *s, double *usual) {
    double *interval = malloc(s->n * sizeof *interval), time = 0, count = 0;
    if (interval == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 1; i < s->n; i++)
        interval[i - 1] = s->t[i] - s->t[i - 1];
    *usual = shot_median(interval, s->n - 1);
    free(interval);
    for (size_t i = 1; i < s->n; i++)
        if (s->t[i] - s->t[i - 1] <= 1.5 * *usual) {
            time += s->t[i] - s->t[i - 1];
            count++;
        }
    s->mean_rate = count / time;
    return SHOT_OK;
}

static double segment_length(const ripple_spectrum *s, double usual, double wanted) {
    const double record = s->t[s->n - 1] - s->t[0];
    if (wanted > 0)
        return wanted;
    return fmax(fmin(fmax(3, 64 * usual), 0.4 * record), LEAST_SAMPLES * usual);
}

static double trend_power(const ripple_spectrum *s, size_t segment) {
    double sum = 0;
    for (size_t k = 0; k < TREND_BINS; k++)
        sum += s->segments.power[segment * s->segments.bins + k];
    return sum;
}

static shot_status choose_quiet(ripple_spectrum *s) {
    const size_t count = s->segments.segments;
    double *sorted = malloc(count * sizeof *sorted);
    s->quiet = malloc(count * sizeof *s->quiet);
    if (sorted == NULL || s->quiet == NULL) {
        free(sorted);
        return SHOT_ERR_MEMORY;
    }
    for (size_t j = 0; j < count; j++)
        sorted[j] = trend_power(s, j);
    shot_sample_quantile_sort(sorted, count);
    const double limit = TRANSIENT * sorted[count / 4];
    free(sorted);
    for (size_t j = 0; j < count; j++) {
        s->quiet[j] = trend_power(s, j) <= limit;
        s->quiet_count += s->quiet[j];
    }
    return SHOT_OK;
}

static shot_status average(ripple_spectrum *s) {
    const double count = (double)s->quiet_count;
    s->power = calloc(s->segments.bins, sizeof *s->power);
    if (s->power == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t j = 0; j < s->segments.segments; j++)
        for (size_t k = 0; k < s->segments.bins && s->quiet[j]; k++)
            s->power[k] += s->segments.power[j * s->segments.bins + k] / count;
    s->freedom = 36 * count * count / (19 * count - 1); /* as in segment_spectra.h */
    return SHOT_OK;
}

/* Fit the noise to bins from..to and judge bins first..last among them. */
static shot_status judge_bins(ripple_spectrum *s, size_t from, size_t to) {
    const size_t bins = s->segments.bins;
    s->false_alarm = malloc(bins * sizeof *s->false_alarm);
    if (s->false_alarm == NULL)
        return SHOT_ERR_MEMORY;
    SHOT_TRY(shot_red_noise_fit(s->segments.frequency + from, s->power + from, to - from + 1,
                                s->freedom, SHOT_SEGMENT_BANDWIDTH, &s->null));
    for (size_t k = 0; k < bins; k++)
        s->false_alarm[k] =
            k < s->first || k > s->last
                ? NAN
                : shot_red_noise_false_alarm(&s->null, s->segments.frequency[k], s->power[k]);
    return SHOT_OK;
}

static shot_status analyse(const double *t, const double *y, size_t n, double length,
                           ripple_spectrum *s) {
    double usual;
    SHOT_TRY(keep_samples(t, y, n, s));
    SHOT_TRY(find_rates(s, &usual));
    const shot_status status =
        shot_segment_spectra_find(s->t, s->y, s->n, segment_length(s, usual, length), &s->segments);
    if (status != SHOT_OK)
        return status == SHOT_ERR_RANGE ? SHOT_ERR_SINGULAR : status;
    for (size_t i = 0; i < s->n && s->segments.even; i++)
        s->t[i] = s->t[0] + (double)i / s->segments.rate;
    SHOT_TRY(choose_quiet(s));
    SHOT_TRY(average(s));
    if (s->segments.bins < TREND_BINS + LEAST_BINS + 2)
        return SHOT_ERR_SINGULAR;
    s->first = TREND_BINS;
    s->last = s->segments.bins - 1 - (s->segments.even ? 2 : 0);
    return judge_bins(s, s->first, s->last);
}

shot_status ripple_spectrum_find(const double *t, const double *y, size_t n, double length,
                                 ripple_spectrum *out) {
    *out = (ripple_spectrum){0};
    const shot_status status = analyse(t, y, n, length, out);
    if (status != SHOT_OK)
        ripple_spectrum_free(out);
    return status;
}

/* Samples less the parabola through the 13 around each, on their true times: what is slower than
 * about a tenth of the rate, and would show again around every multiple of the rate, is gone. */
static shot_status remove_slow(ripple_spectrum *s) {
    const shot_running_fit_rule rule = {.reach = {6, 6, true}, .order = 2};
    shot_running_fit *fit;
    shot_running_fit_at at;
    bool ready = true;
    SHOT_TRY(shot_running_fit_new(&rule, &fit));
    shot_status status = SHOT_OK;
    for (size_t i = 0, done = 0; done < s->n && status == SHOT_OK; i++) {
        if (i < s->n)
            status = shot_running_fit_push(fit, s->t[i], s->y[i]);
        else
            shot_running_fit_finish(fit);
        do {
            if (status == SHOT_OK)
                status = shot_running_fit_next(fit, &at, &ready);
            if (status == SHOT_OK && ready)
                s->y[done++] = at.value - at.fitted;
        } while (status == SHOT_OK && ready);
    }
    shot_running_fit_free(fit);
    return status;
}

/* Copy what does not depend on the band. */
static shot_status copy_samples(const ripple_spectrum *from, ripple_spectrum *s) {
    SHOT_TRY(keep_samples(from->t, from->y, from->n, s));
    s->mean_rate = from->mean_rate;
    s->quiet_count = from->quiet_count;
    s->quiet = malloc(from->segments.segments * sizeof *s->quiet);
    if (s->quiet == NULL)
        return SHOT_ERR_MEMORY;
    memcpy(s->quiet, from->quiet, from->segments.segments * sizeof *s->quiet);
    return SHOT_OK;
}

static shot_status analyse_near(const ripple_spectrum *base, double frequency, double tolerance,
                                ripple_spectrum *s) {
    SHOT_TRY(copy_samples(base, s));
    SHOT_TRY(remove_slow(s));
    SHOT_TRY(shot_segment_spectra_near(s->t, s->y, s->n, base->segments.length, 0.8 * frequency,
                                       1.2 * frequency, &s->segments));
    SHOT_TRY(average(s));
    const double *f = s->segments.frequency;
    const size_t bins = s->segments.bins;
    while (s->first < bins && f[s->first] < frequency * (1 - tolerance))
        s->first++;
    for (s->last = s->first; s->last + 1 < bins && f[s->last + 1] <= frequency * (1 + tolerance);)
        s->last++;
    return s->first < bins ? judge_bins(s, 0, bins - 1) : SHOT_ERR_SINGULAR;
}

shot_status ripple_spectrum_near(const ripple_spectrum *spectrum, double frequency,
                                 double tolerance, ripple_spectrum *out) {
    *out = (ripple_spectrum){0};
    const shot_status status = analyse_near(spectrum, frequency, tolerance, out);
    if (status != SHOT_OK)
        ripple_spectrum_free(out);
    return status;
}
