/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One measure over one series of shots. */
#include <shottrace/judge/repeatability.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/sample_size.h>

enum { SEED = 1 };

/* Ten thousand random orders give p = 0.05 to 0.002; a long series needs fewer of them for the same
 * work, and its p is small where there is anything to see. */
static uint64_t draws_for(size_t n) {
    return n <= 200 ? 10000 : n >= 2000 ? 1000 : 2000000 / (uint64_t)n;
}

static shot_repeatability nothing_yet(const double *x, size_t n) {
    shot_repeatability r = {.moments = shot_moments_find(x, n)};
    r.scatter = r.moments.sd;
    r.sd_low = r.sd_high = r.apart = r.apart_within = NAN;
    r.parts = (shot_nested_scatter){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    r.limits = (shot_control_limits){NAN, NAN, NAN, NAN};
    r.odd.p = r.trend.p = r.change.p = NAN;
    return r;
}

static shot_status find_signals(const double *x, size_t n, shot_repeatability *out) {
    unsigned char *signal = malloc(n);
    if (signal == NULL)
        return SHOT_ERR_MEMORY;
    shot_control_chart_signals(x, n, &out->limits, signal);
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        out->last_outside = signal[i] & SHOT_CONTROL_OUTSIDE;
        out->last_run = signal[i] & SHOT_CONTROL_RUN;
        out->outside += out->last_outside;
    }
    free(signal);
    return SHOT_OK;
}

static double squares_about_mean(const double *x, size_t n) {
    shot_moments m = shot_moments_find(x, n);
    return m.n >= 2 ? (double)(m.n - 1) * m.sd * m.sd : 0;
}

/* Sum of squares about the least-squares line over the places of the values. */
static double squares_about_line(const double *x, size_t n) {
    double count = 0, mean_i = 0, mean_x = 0, ii = 0, ix = 0, xx = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        double di = (double)i - mean_i, dx = x[i] - mean_x;
        count++;
        mean_i += di / count;
        mean_x += dx / count;
        ii += di * ((double)i - mean_i);
        ix += di * (x[i] - mean_x);
        xx += dx * (x[i] - mean_x);
    }
    return fmax(xx - ix * ix / ii, 0);
}

static bool is_in_steps(const double *x, size_t n, const shot_repeatability *r) {
    size_t first = r->change.first;
    double count = (double)r->moments.n;
    double step = squares_about_mean(x, first) + squares_about_mean(x + first, n - first);
    return count * log(step) + log(count) <= count * log(squares_about_line(x, n));
}

shot_status shot_repeatability_find(const double *x, size_t n, double level,
                                    shot_repeatability *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    *out = nothing_yet(x, n);
    const shot_moments *m = &out->moments;
    if (m->n < 2 || !(m->sd > 0))
        return SHOT_OK;
    SHOT_TRY(shot_sample_size_sigma(m->sd, (double)m->n - 1, level, &out->sd_low, &out->sd_high));
    out->apart = shot_student_quantile(0.975, (double)m->n - 1) * sqrt(2) * m->sd;
    if (m->n < SHOT_REPEATABILITY_LEAST)
        return SHOT_OK;
    out->enough = true;
    SHOT_TRY(shot_control_chart_individuals(x, n, 3, &out->limits, NULL));
    SHOT_TRY(shot_outlier_grubbs(x, n, &out->odd));
    SHOT_TRY(shot_trend_mann_kendall(x, n, level, &out->trend));
    SHOT_TRY(shot_pettitt_find(x, n, draws_for(n), SEED, &out->change));
    out->in_steps = is_in_steps(x, n, out);
    return find_signals(x, n, out);
}
