/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A smooth continuum under a spectrum, and what rises above it. */
#include <shottrace/signal/red_noise.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/special.h>

#include "signal/pi.h"

enum { COLUMNS = 3, LEAST_BINS = 8, MOST_ROUNDS = 8 };

/* Digamma and trigamma functions for x > 0: recurrence up to 10, then the asymptotic series
 * (Abramowitz & Stegun 1964, 6.3.5, 6.3.18, 6.4.6, 6.4.12). */
static double digamma(double x) {
    double sum = 0;
    for (; x < 10; x++)
        sum -= 1 / x;
    const double z = 1 / (x * x);
    return sum + log(x) - 1 / (2 * x) -
           z * (1.0 / 12 - z * (1.0 / 120 - z * (1.0 / 252 - z / 240)));
}

static double trigamma(double x) {
    double sum = 0;
    for (; x < 10; x++)
        sum += 1 / (x * x);
    const double z = 1 / (x * x);
    return sum + 1 / x + z / 2 + z / x * (1.0 / 6 - z * (1.0 / 30 - z * (1.0 / 42 - z / 30)));
}

typedef struct regression {
    double *matrix; /* column by column [COLUMNS * m] */
    double *b, *work;
    bool *kept;
} regression;

static void release(regression *r) {
    free(r->matrix);
    free(r->b);
    free(r->work);
    free(r->kept);
}

static shot_status prepare(const double *power, size_t m, regression *r) {
    *r = (regression){
        .matrix = malloc(COLUMNS * m * sizeof(double)),
        .b = malloc(m * sizeof(double)),
        .work = malloc(shot_least_squares_workspace(m, COLUMNS) * sizeof(double)),
        .kept = malloc(m * sizeof(bool)),
    };
    if (r->matrix == NULL || r->b == NULL || r->work == NULL || r->kept == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k < m; k++)
        r->kept[k] = power[k] > 0 && isfinite(power[k]);
    return SHOT_OK;
}

/* Least squares on the bins that are kept.  The scatter of ln power is known, and what it exceeds
 * that by is the parabola's misfit. */
static shot_status fit_kept(const double *frequency, const double *power, size_t m, double alike,
                            regression *r, shot_red_noise *null) {
    const double half = null->freedom / 2;
    size_t n = 0;
    for (size_t k = 0; k < m; k++)
        n += r->kept[k];
    if (n < LEAST_BINS)
        return SHOT_ERR_SINGULAR;
    for (size_t k = 0, i = 0; k < m; k++)
        if (r->kept[k]) {
            const double u = log(frequency[k] / null->centre);
            r->matrix[i] = 1;
            r->matrix[n + i] = u;
            r->matrix[2 * n + i] = u * u;
            r->b[i++] = log(power[k]) - digamma(half) + log(half);
        }
    double covariance[COLUMNS * COLUMNS];
    shot_least_squares summary;
    SHOT_TRY(shot_least_squares_fit(r->matrix, r->b, n, COLUMNS, r->work, null->coefficient,
                                    covariance, &summary));
    const double scatter = summary.sd * summary.sd, known = trigamma(half);
    const double scale = scatter > 0 ? alike * fmax(known / scatter, 1) : 0;
    null->misfit = fmax(scatter - known, 0);
    for (int i = 0; i < COLUMNS; i++)
        for (int j = 0; j < COLUMNS; j++)
            null->covariance[i][j] = scale * covariance[i * COLUMNS + j];
    null->used = n;
    return SHOT_OK;
}

/* Leave out bins that noise would hardly reach in any of them, with their neighbours, into which a
 * window spreads a tone; true if any was new. */
static bool leave_out_peaks(const double *frequency, const double *power, size_t m,
                            const shot_red_noise *null, bool *kept) {
    bool any = false;
    for (size_t k = 0; k < m; k++) {
        const double ratio = power[k] / shot_red_noise_at(null, frequency[k]);
        if (!kept[k] ||
            shot_chi_square_tail(null->freedom * ratio, null->freedom) * (double)m > 0.01)
            continue;
        any = true;
        for (size_t j = k > 1 ? k - 2 : 0; j <= k + 2 && j < m; j++)
            kept[j] = false;
    }
    return any;
}

static shot_status fit(const double *frequency, const double *power, size_t m, double alike,
                       regression *r, shot_red_noise *null) {
    SHOT_TRY(prepare(power, m, r));
    SHOT_TRY(fit_kept(frequency, power, m, alike, r, null));
    for (int round = 0; round < MOST_ROUNDS; round++) {
        if (!leave_out_peaks(frequency, power, m, null, r->kept))
            return SHOT_OK;
        if (fit_kept(frequency, power, m, alike, r, null) != SHOT_OK)
            return SHOT_OK; /* the last fit that was possible stands */
    }
    return SHOT_OK;
}

shot_status shot_red_noise_fit(const double *frequency, const double *power, size_t m,
                               double freedom, double alike, shot_red_noise *out) {
    if (!(freedom >= 2) || !(alike >= 1))
        return SHOT_ERR_RANGE;
    if (m < LEAST_BINS)
        return SHOT_ERR_SINGULAR;
    for (size_t k = 0; k < m; k++)
        if (!(frequency[k] > 0) || (k > 0 && !(frequency[k] > frequency[k - 1])))
            return SHOT_ERR_RANGE;
    regression r = {0};
    *out = (shot_red_noise){.freedom = freedom, .centre = sqrt(frequency[0] * frequency[m - 1])};
    const shot_status status = fit(frequency, power, m, alike, &r, out);
    release(&r);
    return status;
}

double shot_red_noise_at(const shot_red_noise *null, double frequency) {
    const double u = log(frequency / null->centre);
    return exp(null->coefficient[0] + u * (null->coefficient[1] + u * null->coefficient[2]));
}

/* Variance of ln of the continuum at u. */
static double variance_at(const shot_red_noise *null, double u) {
    const double v[COLUMNS] = {1, u, u * u};
    double sum = 0;
    for (int i = 0; i < COLUMNS; i++)
        for (int j = 0; j < COLUMNS; j++)
            sum += v[i] * v[j] * null->covariance[i][j];
    return fmax(sum, 0);
}

/* The tail of chi-square over a normal distribution of ln S, by the trapezoidal rule: 8 standard
 * deviations either way, where the normal weight is 1e-14. */
double shot_red_noise_false_alarm(const shot_red_noise *null, double frequency, double power) {
    const double ratio = power / shot_red_noise_at(null, frequency);
    const double sd = sqrt(variance_at(null, log(frequency / null->centre)) + null->misfit);
    const double step = 0.1;
    double sum = 0;
    for (int k = -80; k <= 80; k++) {
        const double x = k * step;
        sum += exp(-x * x / 2) *
               shot_chi_square_tail(null->freedom * ratio * exp(-sd * x), null->freedom);
    }
    return sum * step / sqrt(2 * SHOT_PI);
}
