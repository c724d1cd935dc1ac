/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strongest periodic ripple of one channel. */
#include "detect/ripple.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/lomb_scargle.h>
#include <shottrace/signal/median.h>

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

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
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
    qsort(sorted, count, sizeof *sorted, by_size);
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

static shot_status judge_bins(ripple_spectrum *s) {
    const size_t bins = s->segments.bins;
    s->first = TREND_BINS;
    s->last = bins - 1 - (s->segments.even ? 2 : 0);
    s->false_alarm = malloc(bins * sizeof *s->false_alarm);
    if (s->false_alarm == NULL)
        return SHOT_ERR_MEMORY;
    if (bins < TREND_BINS + LEAST_BINS + 2)
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(shot_red_noise_fit(s->segments.frequency + s->first, s->power + s->first,
                                s->last - s->first + 1, s->freedom, SHOT_SEGMENT_BANDWIDTH,
                                &s->null));
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
    return judge_bins(s);
}

shot_status ripple_spectrum_find(const double *t, const double *y, size_t n, double length,
                                 ripple_spectrum *out) {
    *out = (ripple_spectrum){0};
    const shot_status status = analyse(t, y, n, length, out);
    if (status != SHOT_OK)
        ripple_spectrum_free(out);
    return status;
}

/* ---- the ripple ---- */

/* Whether a tone in bin k stands out in one segment: its power over the mean of bins 3 to 6 away
 * on either side, which a Hann window keeps clear of it, as a variance ratio at 5 %. */
static bool shows(const ripple_spectrum *s, size_t segment, size_t k) {
    const double *power = s->segments.power + segment * s->segments.bins;
    double sum = 0, count = 0;
    for (size_t away = 3; away <= 6; away++) {
        if (k >= away + 1) {
            sum += power[k - away];
            count++;
        }
        if (k + away < s->segments.bins) {
            sum += power[k + away];
            count++;
        }
    }
    const double ratio = fmax(power[k], fmax(k > 0 ? power[k - 1] : 0,
                                             k + 1 < s->segments.bins ? power[k + 1] : 0)) *
                         count / sum;
    return shot_f_tail(ratio, 2, 2 * count / SHOT_SEGMENT_BANDWIDTH) < 0.05 / 3;
}

/* The longest stretch of quiet segments in which the tone shows, single ones in between, and
 * transients, not counting.  All segments if it shows in none alone. */
static void find_stretch(const ripple_spectrum *s, size_t k, size_t *first, size_t *last) {
    size_t begin = 0, seen = 0, best = 0, missed = 2;
    *first = 0;
    *last = s->segments.segments - 1;
    for (size_t j = 0; j < s->segments.segments; j++) {
        if (!s->quiet[j])
            continue;
        if (!shows(s, j, k)) {
            missed++;
            continue;
        }
        if (missed > 1) {
            begin = j;
            seen = 0;
        }
        missed = 0;
        seen++;
        if (seen > best) {
            best = seen;
            *first = begin;
            *last = j;
        }
    }
}

/* Densities of the quiet segments among first .. last around bin k, at quarters of a bin. */
enum { QUARTERS = 9, MIDDLE = 4 };

typedef struct close_up {
    size_t first, last, k;
    size_t count;  /* segments looked at */
    double *power; /* owned [count][QUARTERS] */
} close_up;

static double quarter(const ripple_spectrum *s, size_t k, double q) {
    return s->segments.frequency[k] + (q - MIDDLE) / 4 / s->segments.length;
}

static shot_status look_closely(const ripple_spectrum *s, close_up *c) {
    c->power = calloc((c->last - c->first + 1) * QUARTERS, sizeof *c->power);
    if (c->power == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t j = c->first; j <= c->last; j++) {
        if (!s->quiet[j])
            continue;
        for (size_t q = 0; q < QUARTERS; q++) {
            const shot_status status =
                shot_segment_power(s->t, s->y, s->n, s->segments.from[j], s->segments.length,
                                   quarter(s, c->k, (double)q), &c->power[c->count * QUARTERS + q]);
            if (status == SHOT_ERR_MEMORY)
                return status;
        }
        c->count++;
    }
    return SHOT_OK;
}

/* Mean over the segments but one (SIZE_MAX: none): *frequency and *power at its top, by a parabola
 * in ln power through the highest quarter and its neighbours. */
static void find_top(const ripple_spectrum *s, const close_up *c, size_t without, double *frequency,
                     double *power) {
    double mean[QUARTERS] = {0};
    const size_t count = c->count;
    for (size_t j = 0; j < count; j++)
        for (size_t q = 0; q < QUARTERS && j != without; q++)
            mean[q] += c->power[j * QUARTERS + q] / (double)(count - (without < count));
    size_t best = 1;
    for (size_t q = 1; q + 1 < QUARTERS; q++)
        best = mean[q] > mean[best] ? q : best;
    const double a = log(mean[best - 1]), b = log(mean[best]), d = log(mean[best + 1]);
    const double bend = a - 2 * b + d;
    const double shift = bend < 0 ? fmin(fmax((a - d) / (2 * bend), -1), 1) : 0;
    *frequency = quarter(s, c->k, (double)best + shift);
    *power = exp(b - (a - d) * shift / 4);
}

/* Standard error of the frequency: jackknife over segments (Efron & Tibshirani 1993, 'An
 * Introduction to the Bootstrap', equation 11.5) times the correlation of neighbours that overlap
 * by half, 1 + 2/36 (Welch 1967). */
static double jackknife(const ripple_spectrum *s, const close_up *c) {
    const size_t count = c->count;
    double mean = 0, squares = 0;
    for (size_t j = 0; j < count; j++) {
        double one, power;
        find_top(s, c, j, &one, &power);
        const double delta = one - mean;
        mean += delta / (double)(j + 1);
        squares += delta * (one - mean);
    }
    return sqrt((double)(count - 1) / (double)count * squares * (1 + 2.0 / 36));
}

/* With less than four segments: that of a sinusoid in white noise. */
static double sinusoid_error(const ripple_spectrum *s, const close_up *c, double frequency) {
    const double end = s->segments.from[c->last] + s->segments.length;
    size_t i = 0, n = 0;
    while (s->t[i] < s->segments.from[c->first])
        i++;
    while (i + n < s->n && s->t[i + n] < end)
        n++;
    shot_sinusoid fit;
    return shot_lomb_scargle_fit(s->t + i, s->y + i, n, frequency, SHOT_MEAN_FITTED, &fit) ==
                   SHOT_OK
               ? fit.frequency_se
               : NAN;
}

/* A frequency and its interval: what is known from the powers of segments alone. */
static void judge_by_power(const ripple_spectrum *s, const close_up *c, ripple *out) {
    const double se = c->count < 4 ? sinusoid_error(s, c, out->frequency) : jackknife(s, c);
    out->low = out->frequency - 1.959963984540054 * se;
    out->high = out->frequency + 1.959963984540054 * se;
}

/* Phases that scatter by more turns than this do not hold together. */
static const double COHERENT = 0.1;

/* Where the phase holds from segment to segment, its slope over time tells the frequency far more
 * sharply: straight line through the phases less those of the frequency at hand (Tretter 1985,
 * 'Estimating the frequency of a noisy sinusoid by linear regression', IEEE Trans. Inf. Theory
 * 31:832-835), with Student's interval from their scatter about it, which also knows of a pump that
 * drifts.  Phases of segments that overlap by half are correlated by 1/6: variance times 1 + 2/6.
 */
static shot_status judge_by_phase(const ripple_spectrum *s, const close_up *c, ripple *out) {
    double n = 0, mean_t = 0, mean_p = 0, tt = 0, tp = 0, pp = 0, last = 0;
    for (size_t j = c->first; j <= c->last; j++) {
        double phase;
        const double from = s->segments.from[j], middle = from + s->segments.length / 2;
        if (!s->quiet[j])
            continue;
        const shot_status status =
            shot_segment_phase(s->t, s->y, s->n, from, s->segments.length, out->frequency, &phase);
        if (status == SHOT_ERR_SINGULAR)
            continue;
        SHOT_TRY(status);
        phase -= out->frequency * middle;
        last = n > 0 ? phase - round(phase - last) : phase - round(phase);
        n++;
        const double dt = middle - mean_t, dp = last - mean_p;
        mean_t += dt / n;
        mean_p += dp / n;
        tt += dt * (middle - mean_t);
        tp += dt * (last - mean_p);
        pp += dp * (last - mean_p);
    }
    const double left = fmax(pp - tp * tp / tt, 0) / (n - 2);
    if (!(n >= 4) || !(sqrt(left) < COHERENT))
        return SHOT_OK;
    const double half = shot_student_quantile(0.975, n - 2) * sqrt(left / tt * (1 + 2.0 / 6));
    out->frequency += tp / tt;
    out->low = out->frequency - half;
    out->high = out->frequency + half;
    return SHOT_OK;
}

/* The span, in which a Hann window sees the middle half of its segment. */
static void set_span(const ripple_spectrum *s, const close_up *c, ripple *out) {
    const double length = s->segments.length;
    out->edge = length / 2;
    out->from = s->segments.from[c->first] + (c->first == 0 ? 0 : length / 4);
    out->to =
        s->segments.from[c->last] + (c->last + 1 == s->segments.segments ? length : length * 3 / 4);
}

static shot_status describe(const ripple_spectrum *s, size_t k, ripple *out) {
    close_up c = {.k = k};
    double power;
    find_stretch(s, k, &c.first, &c.last);
    shot_status status = look_closely(s, &c);
    if (status == SHOT_OK) {
        find_top(s, &c, SIZE_MAX, &out->frequency, &power);
        const double tone = power - shot_red_noise_at(&s->null, out->frequency);
        out->amplitude = sqrt(2 * fmax(tone, 0) * SHOT_SEGMENT_BANDWIDTH / s->segments.length);
        set_span(s, &c, out);
        judge_by_power(s, &c, out);
        status = judge_by_phase(s, &c, out);
    }
    free(c.power);
    return status;
}

/* The least likely bin in noise; among those that are too unlikely for a double, the highest. */
static size_t strongest(const ripple_spectrum *s) {
    size_t best = s->first;
    double best_ratio = 0;
    for (size_t k = s->first; k <= s->last; k++) {
        const double p = s->false_alarm[k], least = s->false_alarm[best];
        const double ratio = s->power[k] / shot_red_noise_at(&s->null, s->segments.frequency[k]);
        if (p < least || (p == least && ratio > best_ratio)) {
            best = k;
            best_ratio = ratio;
        }
    }
    return best;
}

shot_status ripple_find(const ripple_spectrum *s, double alarm_rate, double step, ripple *out,
                        bool *found) {
    const size_t best = strongest(s);
    const double anywhere = s->false_alarm[best] * (double)(s->last - s->first + 1);
    *out = (ripple){.false_alarm = fmin(anywhere, 1)};
    *found = out->false_alarm <= alarm_rate;
    if (*found)
        SHOT_TRY(describe(s, best, out));
    *found = *found && 2 * out->amplitude > step;
    return SHOT_OK;
}

double ripple_unfold(double seen, double rate, double wanted) {
    const double turns = floor(wanted / rate + 0.5);
    double best = INFINITY;
    for (int k = -1; k <= 1; k++) {
        const double above = (turns + k) * rate + seen, below = (turns + k) * rate - seen;
        best = fabs(above - wanted) < fabs(best - wanted) ? above : best;
        best = fabs(below - wanted) < fabs(best - wanted) ? below : best;
    }
    return best;
}
