/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One measure over shots of several days: within a day, from day to day, and over the days. */
#include <shottrace/judge/repeatability.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/two_sample.h>

#include "lack_of_memory.h"

/* The days that have a value, in their order. */
typedef struct day_means {
    double *mean, *place; /* [count], owned */
    size_t *first;        /* index of the day's first value [count], owned */
    size_t count;
} day_means;

static void day_means_free(day_means *d) {
    free(d->mean);
    free(d->place);
    free(d->first);
}

/* The days of a series follow each other. */
static shot_status day_means_find(const double *x, const size_t *day, size_t n, day_means *out) {
    day_means d = {malloc((n + 1) * sizeof *d.mean), malloc((n + 1) * sizeof *d.place),
                   malloc((n + 1) * sizeof *d.first), 0};
    double values = 0;
    size_t now = SIZE_MAX;
    *out = d;
    if (d.mean == NULL || d.place == NULL || d.first == NULL) {
        day_means_free(&d);
        return SHOT_ERR_MEMORY;
    }
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        if (day[i] != now) {
            values = 0;
            now = day[i];
            d.first[d.count] = i;
            d.mean[d.count] = 0;
            d.place[d.count++] = (double)now;
        }
        d.mean[d.count - 1] += (x[i] - d.mean[d.count - 1]) / ++values;
    }
    *out = d;
    return SHOT_OK;
}

/* A step and a drift are looked for, and one of them is told: p counts both (Bonferroni). */
static const double looks = 2;

/* The likeliest step over the days: Student's test on either side of each place, and its chance for
 * as many places (Bonferroni). */
static void find_step(const day_means *d, double level, shot_pettitt *out) {
    shot_pettitt best = {.first = d->first[0], .k = NAN, .p = NAN, .se = NAN};
    best.before = best.after = NAN;
    for (size_t k = 1; k < d->count; k++) {
        const shot_moments before = shot_moments_find(d->mean, k);
        const shot_moments after = shot_moments_find(d->mean + k, d->count - k);
        shot_t_test test;
        if (shot_two_sample_pooled(&before, &after, level, &test) != SHOT_OK ||
            test.p >= (isnan(best.p) ? 2 : best.p))
            continue;
        best = (shot_pettitt){.first = d->first[k],
                              .k = fabs(test.t),
                              .p = test.p,
                              .se = NAN,
                              .before = before.mean,
                              .after = after.mean};
    }
    best.p = fmin(1, looks * best.p * (double)(d->count - 1));
    *out = best;
}

static double squares_about_step(const day_means *d, size_t first) {
    size_t k = 0;
    while (k < d->count && d->first[k] < first)
        k++;
    const shot_moments before = shot_moments_find(d->mean, k);
    const shot_moments after = shot_moments_find(d->mean + k, d->count - k);
    return (before.n > 1 ? before.sd * before.sd * (double)(before.n - 1) : 0) +
           (after.n > 1 ? after.sd * after.sd * (double)(after.n - 1) : 0);
}

/* A step and a drift over the days' means in the place of those over the shots: shots of one day go
 * together, so that any two days that differ would look like a step. */
static shot_status find_course(const day_means *d, double level, shot_repeatability *out) {
    shot_slope slope = {NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    out->trend =
        (shot_mann_kendall){.s = NAN, .tau = NAN, .p = NAN, .slope = NAN, .low = NAN, .high = NAN};
    out->change.p = out->change.before = out->change.after = NAN;
    if (d->count < 3)
        return SHOT_OK;
    find_step(d, level, &out->change);
    const shot_status status = shot_trend_slope(d->place, d->mean, NULL, d->count, level, &slope);
    if (status != SHOT_OK)
        return lack_of_memory_only(status);
    out->trend = (shot_mann_kendall){.s = NAN,
                                     .tau = NAN,
                                     .p = fmin(1, looks * slope.p),
                                     .slope = slope.slope,
                                     .low = slope.low,
                                     .high = slope.high};
    /* both have two levels or coefficients, and the step a place besides (Schwarz 1978) */
    const double count = (double)d->count, spread = shot_moments_find(d->place, d->count).sd;
    const double about_line = slope.se * slope.se * slope.df * spread * spread * (count - 1);
    const double about_step = squares_about_step(d, out->change.first);
    out->in_steps = count * log(about_step) + log(count) <= count * log(about_line);
    return SHOT_OK;
}

/* About all days alike: the range of neighbours is that of one day. */
static shot_status find_limits(const double *x, size_t n, double mean, shot_repeatability *out) {
    unsigned char *signal = malloc(n);
    if (signal == NULL)
        return SHOT_ERR_MEMORY;
    const double sigma = out->parts.overall;
    out->limits = (shot_control_limits){mean, sigma, mean - 3 * sigma, mean + 3 * sigma};
    shot_control_chart_signals(x, n, &out->limits, signal);
    out->outside = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        out->last_outside = signal[i] & SHOT_CONTROL_OUTSIDE;
        out->outside += out->last_outside;
    }
    out->last_run = false; /* a day's shots lie on one side together */
    free(signal);
    return SHOT_OK;
}

static double apart_of(double sd, double df) {
    return shot_student_quantile(0.975, df) * sqrt(2) * sd;
}

/* What several days tell of the scatter. */
static void take_parts(const shot_nested_moments *m, shot_repeatability *out) {
    const shot_nested_scatter *p = &out->parts;
    out->days = m->blocks;
    out->scatter = p->overall;
    out->sd_low = p->overall_low;
    out->sd_high = p->overall_high;
    out->apart = apart_of(p->overall, p->overall_df);
    out->apart_within = apart_of(p->within, m->within_df);
}

shot_status shot_repeatability_of_days_find(const double *x, const size_t *day, size_t days,
                                            size_t n, double level, shot_repeatability *out) {
    shot_nested_moments m;
    day_means d;
    SHOT_TRY(shot_repeatability_find(x, n, level, out));
    SHOT_TRY(shot_nested_moments_find(x, day, days, n, &m));
    const shot_status status = shot_nested_scatter_find(&m, level, &out->parts);
    if (!out->enough || status != SHOT_OK)
        return SHOT_OK;
    take_parts(&m, out);
    /* Each measure by itself, whatever number of them is looked at: days that are missed make
     * limits too narrow, days that are seen too often make them wider.  A test before a test is to
     * err to the safe side (Bancroft 1964, Biometrics 20:427-442, from memory). */
    out->days_differ = out->parts.p <= 1 - level;
    if (!out->days_differ)
        return SHOT_OK;
    SHOT_TRY(day_means_find(x, day, n, &d));
    const shot_status course = find_course(&d, level, out);
    day_means_free(&d);
    return course != SHOT_OK ? course : find_limits(x, n, m.mean, out);
}
