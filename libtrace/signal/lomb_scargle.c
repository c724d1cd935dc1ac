/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Periodogram of uneven samples (Lomb 1976, Scargle 1982, Zechmeister & Kuerster 2009). */
#include <shottrace/signal/lomb_scargle.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "signal/pi.h"

/* The samples that are there, times and values centred, with cosine and sine of every time at one
 * frequency and for one step of frequency. */
typedef struct samples {
    size_t n;
    double *t, *y;           /* about their means */
    double *c, *s;           /* cos and sin of 2 pi f t */
    double *step_c, *step_s; /* the same for the step */
    double *store;
    double t_mean, y_mean;
    double squares; /* sum y^2 */
} samples;

static shot_status gather(const double *t, const double *y, size_t n, samples *out) {
    samples a = {0};
    if (n > SIZE_MAX / (6 * sizeof *a.store))
        return SHOT_ERR_MEMORY;
    a.store = malloc(6 * n * sizeof *a.store + 1);
    if (a.store == NULL)
        return SHOT_ERR_MEMORY;
    a.t = a.store, a.y = a.t + n, a.c = a.y + n, a.s = a.c + n, a.step_c = a.s + n,
    a.step_s = a.step_c + n;
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i])) {
            a.t[a.n] = t[i];
            a.y[a.n++] = y[i];
            a.t_mean += (t[i] - a.t_mean) / (double)a.n;
            a.y_mean += (y[i] - a.y_mean) / (double)a.n;
        }
    for (size_t i = 0; i < a.n; i++) {
        a.t[i] -= a.t_mean;
        a.y[i] -= a.y_mean;
        a.squares += a.y[i] * a.y[i];
    }
    *out = a;
    return SHOT_OK;
}

static void clear(samples *a) {
    free(a->store);
}

static void rotate_to(samples *a, double frequency) {
    for (size_t i = 0; i < a->n; i++) {
        const double angle = 2 * SHOT_PI * frequency * a->t[i];
        a->c[i] = cos(angle);
        a->s[i] = sin(angle);
    }
}

static void set_step(samples *a, double step) {
    for (size_t i = 0; i < a->n; i++) {
        const double angle = 2 * SHOT_PI * step * a->t[i];
        a->step_c[i] = cos(angle);
        a->step_s[i] = sin(angle);
    }
}

static void rotate_by_step(samples *a) {
    for (size_t i = 0; i < a->n; i++) {
        const double c = a->c[i] * a->step_c[i] - a->s[i] * a->step_s[i];
        a->s[i] = a->s[i] * a->step_c[i] + a->c[i] * a->step_s[i];
        a->c[i] = c;
    }
}

typedef struct wave { /* y = a cos + b sin + offset about the means */
    double a, b, offset;
    double explained; /* sum of squares */
} wave;

/* Least squares on cosine and sine from their sums (Zechmeister & Kuerster 2009, equations 5-12);
 * where one of the two vanishes on all samples, on the other alone. */
static wave fit_here(const samples *p, shot_mean mean) {
    double c = 0, s = 0, cc = 0, cs = 0, yc = 0, ys = 0;
    for (size_t i = 0; i < p->n; i++) {
        c += p->c[i];
        s += p->s[i];
        cc += p->c[i] * p->c[i];
        cs += p->c[i] * p->s[i];
        yc += p->y[i] * p->c[i];
        ys += p->y[i] * p->s[i];
    }
    const double n = (double)p->n;
    double ss = n - cc;
    if (mean == SHOT_MEAN_FITTED) {
        cc -= c * c / n;
        ss -= s * s / n;
        cs -= c * s / n;
    }
    const double determinant = cc * ss - cs * cs;
    wave f = {0};
    if (determinant > 1e-12 * n * n) {
        f.a = (yc * ss - ys * cs) / determinant;
        f.b = (ys * cc - yc * cs) / determinant;
    } else if (cc >= ss && cc > 1e-12 * n) {
        f.a = yc / cc;
    } else if (ss > 1e-12 * n) {
        f.b = ys / ss;
    }
    f.explained = f.a * yc + f.b * ys;
    f.offset = mean == SHOT_MEAN_FITTED ? -(f.a * c + f.b * s) / n : 0;
    return f;
}

static double on_scale(double z, double squares, shot_power_scale scale) {
    switch (scale) {
    case SHOT_POWER_MODEL:
        return z / (1 - z);
    case SHOT_POWER_LOG:
        return -log1p(-z);
    case SHOT_POWER_SCARGLE:
        return z * squares / 2;
    default:
        return z;
    }
}

/* Whether there is something to explain and enough samples to do it. */
static shot_status check(const samples *a, shot_mean mean) {
    if (a->n < (mean == SHOT_MEAN_FITTED ? 4u : 3u) || !isfinite(a->squares) ||
        !isfinite(a->t_mean))
        return SHOT_ERR_RANGE;
    double largest = 0;
    for (size_t i = 0; i < a->n; i++)
        largest = fmax(largest, fabs(a->y[i]));
    return largest > 1e-14 * fabs(a->y_mean) ? SHOT_OK : SHOT_ERR_SINGULAR;
}

/* Turning by a step loses a bit now and then; cosines and sines are set anew this often. */
enum { RENEW = 128 };

static void scan(samples *a, double first, double step, size_t m,
                 const shot_lomb_scargle_settings *settings, double *power) {
    set_step(a, step);
    for (size_t k = 0; k < m; k++) {
        if (k % RENEW == 0)
            rotate_to(a, first + step * (double)k);
        else
            rotate_by_step(a);
        const double z = fit_here(a, settings->mean).explained / a->squares;
        power[k] = on_scale(fmin(fmax(z, 0), 1), a->squares, settings->scale);
    }
}

shot_status shot_lomb_scargle(const double *t, const double *y, size_t n, double first, double step,
                              size_t m, const shot_lomb_scargle_settings *settings, double *power) {
    if (!(first > 0) || !(step >= 0) || !isfinite(first) || !isfinite(step))
        return SHOT_ERR_RANGE;
    samples a;
    SHOT_TRY(gather(t, y, n, &a));
    const shot_status status = check(&a, settings->mean);
    if (status == SHOT_OK)
        scan(&a, first, step, m, settings, power);
    clear(&a);
    return status;
}

static double explained_at(samples *a, double frequency, shot_mean mean) {
    rotate_to(a, frequency);
    return fit_here(a, mean).explained;
}

/* Standard error of the frequency: the residual over the length of the derivative of the sinusoid
 * by frequency, after what amplitude, phase and mean can imitate of it has been projected out
 * (linearised least squares; equals sqrt(6/n) sd / (pi T A) on an even grid, Montgomery &
 * O'Donoghue 1999, equation 4). */
static double frequency_error(const samples *a, const wave *f, double residual_sd) {
    double moment[3] = {0}, gram[3][3] = {{0}}, length = 0;
    for (size_t i = 0; i < a->n; i++) {
        const double basis[3] = {a->c[i], a->s[i], 1};
        const double slope = 2 * SHOT_PI * a->t[i] * (f->b * a->c[i] - f->a * a->s[i]);
        length += slope * slope;
        for (int j = 0; j < 3; j++) {
            moment[j] += slope * basis[j];
            for (int k = 0; k < 3; k++)
                gram[j][k] += basis[j] * basis[k];
        }
    }
    for (int j = 0; j < 3; j++) { /* Gauss on a positive definite matrix, then the projection */
        for (int k = j + 1; k < 3; k++) {
            const double factor = gram[k][j] / gram[j][j];
            for (int l = j; l < 3; l++)
                gram[k][l] -= factor * gram[j][l];
            moment[k] -= factor * moment[j];
        }
        length -= moment[j] * moment[j] / gram[j][j];
    }
    return length > 0 ? residual_sd / sqrt(length) : NAN;
}

static shot_sinusoid describe(samples *a, double frequency, shot_mean mean) {
    rotate_to(a, frequency);
    const wave f = fit_here(a, mean);
    const double left = fmax(a->squares - f.explained, 0);
    const double freedom = (double)a->n - (mean == SHOT_MEAN_FITTED ? 5 : 4);
    const double residual_sd = freedom > 0 ? sqrt(left / freedom) : NAN;
    /* a cos(w u) + b sin(w u), u = t - t_mean, as a sine of t. */
    const double phase = atan2(f.a, f.b) / (2 * SHOT_PI) - fmod(frequency * a->t_mean, 1);
    return (shot_sinusoid){
        .frequency = frequency,
        .frequency_se = frequency_error(a, &f, residual_sd),
        .amplitude = hypot(f.a, f.b),
        .phase = phase - floor(phase),
        .mean = a->y_mean + f.offset,
        .power = fmin(fmax(f.explained / a->squares, 0), 1),
        .residual_sd = residual_sd,
    };
}

shot_status shot_lomb_scargle_fit(const double *t, const double *y, size_t n, double frequency,
                                  shot_mean mean, shot_sinusoid *fit) {
    if (!(frequency > 0) || !isfinite(frequency))
        return SHOT_ERR_RANGE;
    samples a;
    SHOT_TRY(gather(t, y, n, &a));
    const shot_status status = check(&a, mean);
    if (status == SHOT_OK)
        *fit = describe(&a, frequency, mean);
    clear(&a);
    return status;
}

static double duration(const samples *a) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < a->n; i++) {
        low = fmin(low, a->t[i]);
        high = fmax(high, a->t[i]);
    }
    return high - low;
}

/* A maximum between low and high, by golden section (Kiefer 1953). */
static double highest_between(samples *a, double low, double high, shot_mean mean) {
    const double golden = 0.61803398874989485;
    double p = high - golden * (high - low), q = low + golden * (high - low);
    double at_p = explained_at(a, p, mean), at_q = explained_at(a, q, mean);
    for (int step = 0; step < 40; step++) {
        if (at_p > at_q) {
            high = q, q = p, at_q = at_p;
            p = high - golden * (high - low);
            at_p = explained_at(a, p, mean);
        } else {
            low = p, p = q, at_p = at_q;
            q = low + golden * (high - low);
            at_q = explained_at(a, q, mean);
        }
    }
    return (low + high) / 2;
}

static shot_status find_peak(samples *a, double low, double high, shot_mean mean,
                             shot_sinusoid *peak) {
    const double step = fmin(0.1 / duration(a), (high - low) / 10);
    const double wanted = ceil((high - low) / step);
    if (!(wanted < (double)(SIZE_MAX / 16)))
        return SHOT_ERR_RANGE;
    const size_t m = (size_t)wanted + 1;
    const shot_lomb_scargle_settings settings = {mean, SHOT_POWER_STANDARD};
    double *power = malloc(m * sizeof *power);
    if (power == NULL)
        return SHOT_ERR_MEMORY;
    const double even = (high - low) / (double)(m - 1);
    scan(a, low, even, m, &settings, power);
    size_t best = 0;
    for (size_t k = 1; k < m; k++)
        if (power[k] > power[best])
            best = k;
    free(power);
    if (best == 0 || best == m - 1)
        return SHOT_ERR_SINGULAR;
    const double at = low + even * (double)best;
    *peak = describe(a, highest_between(a, at - even, at + even, mean), mean);
    return SHOT_OK;
}

shot_status shot_lomb_scargle_peak(const double *t, const double *y, size_t n, double low,
                                   double high, shot_mean mean, shot_sinusoid *peak) {
    if (!(low > 0) || !(high > low) || !isfinite(high))
        return SHOT_ERR_RANGE;
    samples a;
    SHOT_TRY(gather(t, y, n, &a));
    shot_status status = check(&a, mean);
    if (status == SHOT_OK)
        status = find_peak(&a, low, high, mean, peak);
    clear(&a);
    return status;
}
