/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The straight line with the long-run variance of what it leaves. */
#include <shottrace/signal/straight_line.h>

#include <math.h>
#include <stdbool.h>

#include "signal/pi.h"

enum { ENOUGH = 20, LEAST_COSINES = 4, MOST_COSINES = 32 };

static const double most_correlation = 0.97;

/* The samples that the line goes through. */
typedef struct stretch {
    const double *t, *y;
    size_t n;
    double from, to;
    const shot_straight_line *line;
} stretch;

/* The residual of the next sample from *i on, which is left behind it; false after the last. */
static bool next_residual(const stretch *s, size_t *i, double *out) {
    while (*i < s->n && !(s->t[*i] >= s->from && s->t[*i] <= s->to && !isnan(s->y[*i])))
        ++*i;
    if (*i == s->n)
        return false;
    *out = s->y[*i] - s->line->level - s->line->slope * (s->t[*i] - s->line->centre);
    ++*i;
    return true;
}

/* The coefficient of the autoregression, its bias taken off. */
static double find_coefficient(const stretch *s) {
    const double count = (double)s->line->n;
    double squares = 0, products = 0, last = 0, one;
    for (size_t i = 0; next_residual(s, &i, &one); last = one) {
        squares += one * one;
        products += one * last;
    }
    const double r = squares > 0 ? products / squares : 0;
    return fmin(fmax((count * r + 2) / (count - 5), 0), most_correlation);
}

/* Cosines of half a period over the stretch and its multiples, each of which turns by its own angle
 * from sample to sample, and the sums of their products with what came. */
typedef struct cosine_sums {
    double re[MOST_COSINES], im[MOST_COSINES]; /* at the sample that is next */
    double turn_re[MOST_COSINES], turn_im[MOST_COSINES];
    double sum[MOST_COSINES];
    size_t count;
} cosine_sums;

static void begin_cosines(cosine_sums *c, size_t samples) {
    const double usual = floor(0.4 * cbrt((double)samples * (double)samples));
    c->count = (size_t)fmin(fmax(usual, LEAST_COSINES), MOST_COSINES);
    for (size_t j = 0; j < c->count; j++) {
        const double angle = SHOT_PI * (double)(j + 1) / (double)samples;
        c->turn_re[j] = cos(angle);
        c->turn_im[j] = sin(angle);
        c->re[j] = cos(angle / 2);
        c->im[j] = sin(angle / 2);
        c->sum[j] = 0;
    }
}

static void add_sample(cosine_sums *c, double value) {
    for (size_t j = 0; j < c->count; j++) {
        const double re = c->re[j], im = c->im[j];
        c->sum[j] += value * re;
        c->re[j] = re * c->turn_re[j] - im * c->turn_im[j];
        c->im[j] = re * c->turn_im[j] + im * c->turn_re[j];
    }
}

/* The variance at frequency 0 of what the autoregression leaves. */
static double whitened_variance(const stretch *s, double coefficient, size_t *cosines) {
    const size_t samples = s->line->n - 1;
    cosine_sums c;
    size_t i = 0;
    double last = 0, one, squares = 0;
    begin_cosines(&c, samples);
    *cosines = c.count;
    next_residual(s, &i, &last);
    for (; next_residual(s, &i, &one); last = one)
        add_sample(&c, one - coefficient * last);
    for (size_t j = 0; j < c.count; j++)
        squares += c.sum[j] * c.sum[j];
    return squares * 2 / (double)samples / (double)c.count;
}

/* What the line itself took of the noise: of m samples that tell something new, 2/m. */
static double kept_share(double independent) {
    return fmax(0.2, 1 - 2 / independent);
}

shot_status shot_straight_line_fit_long_run(const double *t, const double *y, size_t n, double from,
                                            double to, shot_straight_line *out) {
    SHOT_TRY(shot_straight_line_fit(t, y, n, from, to, out));
    if (out->n < ENOUGH || !(out->sd > 0))
        return SHOT_OK;
    const stretch s = {t, y, n, from, to, out};
    const double r = find_coefficient(&s), count = (double)out->n;
    const double independent = fmax(3, count * (1 - r) / (1 + r));
    size_t cosines;
    const double left = whitened_variance(&s, r, &cosines);
    const double long_run = left / ((1 - r) * (1 - r)) / kept_share(independent);
    const double widening = sqrt(long_run / count) / out->level_se;
    out->level_se *= widening;
    out->slope_se *= widening;
    out->effective_n = independent;
    out->freedom = fmax(1, 1 / (1 / fmax(1, independent - 2) + 1 / (double)cosines));
    return SHOT_OK;
}
