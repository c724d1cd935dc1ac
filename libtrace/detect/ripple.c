/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strongest periodic ripple of one channel. */
#include "detect/ripple.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/lomb_scargle.h>

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

/* A segment that the tone fills in part has a phase of more noise than the others, and stands where
 * it counts most for their slope. */
static void leave_out_edges(const ripple_spectrum *s, close_up *c, const ripple *span) {
    const shot_segment_spectra *all = &s->segments;
    size_t first = c->first, last = c->last;
    while (first < last && all->from[first] < span->from.at)
        first++;
    while (last > first && all->from[last] + all->length > span->to.at)
        last--;
    if (last - first + 1 >= 4) {
        c->first = first;
        c->last = last;
    }
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
        judge_by_power(s, &c, out);
        status = ripple_span_find(s, c.first, c.last, out->frequency, out->amplitude, &out->from,
                                  &out->to);
    }
    if (status == SHOT_OK) {
        leave_out_edges(s, &c, out);
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

shot_status ripple_find(const ripple_spectrum *s, double alarm_rate, double least, ripple *out,
                        bool *found) {
    const size_t best = strongest(s);
    const double anywhere = s->false_alarm[best] * (double)(s->last - s->first + 1);
    *out = (ripple){.false_alarm = fmin(anywhere, 1)};
    *found = out->false_alarm <= alarm_rate;
    if (*found)
        SHOT_TRY(describe(s, best, out));
    *found = *found && out->amplitude > least;
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

/* Mean density over the quiet segments at any frequency. */
static shot_status density_at(const ripple_spectrum *s, double frequency, double *mean) {
    *mean = 0;
    for (size_t j = 0; j < s->segments.segments; j++) {
        double power = 0;
        const shot_status status = s->quiet[j]
                                       ? shot_segment_power(s->t, s->y, s->n, s->segments.from[j],
                                                            s->segments.length, frequency, &power)
                                       : SHOT_OK;
        if (status == SHOT_ERR_MEMORY)
            return status;
        *mean += power / (double)s->quiet_count;
    }
    return SHOT_OK;
}

shot_status ripple_is_image(const ripple_spectrum *s, double frequency, bool *image) {
    const double turns = round(frequency / s->mean_rate);
    double here, folded;
    SHOT_TRY(density_at(s, frequency, &here));
    SHOT_TRY(density_at(s, fabs(frequency - turns * s->mean_rate), &folded));
    *image = !(here > folded);
    return SHOT_OK;
}
