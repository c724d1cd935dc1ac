/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/level_change.h>

#include "signal/level_search.h"

/* The samples that are not missing, with running sums about their mean. */
typedef struct series {
    size_t n, length;
    double centre;
    size_t *index;       /* [n] place in the caller's series */
    double *sum, *power; /* [n + 1] */
} series;

static void series_free(series *s) {
    free(s->index);
    free(s->sum);
    free(s->power);
}

static shot_status series_take(const double *y, size_t n, series *s) {
    *s = (series){.length = n};
    s->index = calloc(n + 1, sizeof *s->index);
    s->sum = calloc(n + 1, sizeof *s->sum);
    s->power = calloc(n + 1, sizeof *s->power);
    if (!s->index || !s->sum || !s->power)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < n; i++) {
        if (isinf(y[i]))
            return SHOT_ERR_RANGE;
        if (isnan(y[i]))
            continue;
        s->index[s->n++] = i;
        s->centre += y[i];
    }
    s->centre /= s->n ? (double)s->n : 1;
    for (size_t i = 0; i < s->n; i++) {
        double d = y[s->index[i]] - s->centre;
        s->sum[i + 1] = s->sum[i] + d;
        s->power[i + 1] = s->power[i] + d * d;
    }
    return SHOT_OK;
}

/* Residual sum of squares of samples from .. to-1 about their mean. */
static double cost(const series *s, size_t from, size_t to) {
    double sum = s->sum[to] - s->sum[from];
    return s->power[to] - s->power[from] - sum * sum / (double)(to - from);
}

static double mean_of(const series *s, size_t from, size_t to) {
    return s->centre + (s->sum[to] - s->sum[from]) / (double)(to - from);
}

/* Read the breaks (counts of used samples, rising) into a result. */
static shot_status deliver(const series *s, const double *y, const size_t *breaks, size_t count,
                           shot_levels **out) {
    shot_levels *levels = calloc(1, sizeof *levels);
    if (!levels)
        return SHOT_ERR_MEMORY;
    levels->first = calloc(count + 1, sizeof *levels->first);
    levels->mean = calloc(count + 1, sizeof *levels->mean);
    if (!levels->first || !levels->mean) {
        shot_levels_free(levels);
        return SHOT_ERR_MEMORY;
    }
    levels->count = count;
    levels->used = s->n;
    for (size_t j = 0, from = 0; j <= count; j++) {
        size_t to = j < count ? breaks[j] : s->n;
        if (j < count)
            levels->first[j] = s->index[to];
        levels->mean[j] = mean_of(s, from, to);
        for (; from < to; from++) {
            double e = y[s->index[from]] - levels->mean[j];
            levels->rss += e * e;
        }
    }
    *out = levels;
    return SHOT_OK;
}

/* Follow the links back from the end into breaks, rising; returns their number. */
static size_t trace_back(const size_t *last, size_t n, size_t *breaks) {
    size_t count = 0;
    for (size_t at = last[n]; at > 0; at = last[at])
        breaks[count++] = at;
    for (size_t i = 0; i < count / 2; i++) {
        size_t swap = breaks[i];
        breaks[i] = breaks[count - 1 - i];
        breaks[count - 1 - i] = swap;
    }
    return count;
}

shot_status shot_levels_find(const double *y, size_t n, double penalty, size_t min_samples,
                             shot_levels **out) {
    *out = NULL;
    if (!(penalty > 0) || !isfinite(penalty) || min_samples < 1)
        return SHOT_ERR_RANGE;
    series s;
    shot_status status = series_take(y, n, &s);
    double *best = calloc(n + 1, sizeof *best);
    size_t *room = calloc(2 * (n + 1), sizeof *room);
    if (status == SHOT_OK && (!best || !room))
        status = SHOT_ERR_MEMORY;
    if (status == SHOT_OK && s.n < min_samples)
        status = SHOT_ERR_SINGULAR;
    if (status == SHOT_OK) {
        size_t *last = room, *spare = room + n + 1;
        status = level_search(s.sum, s.power, s.n, penalty, min_samples, best, last);
        if (status == SHOT_OK)
            status = deliver(&s, y, spare, trace_back(last, s.n, spare), out);
    }
    free(best);
    free(room);
    series_free(&s);
    return status;
}

/* Bellman's recursion over the number of breaks: best[t] for k breaks from those for k - 1. */
static void partition(const series *s, size_t count, size_t least, double *best, double *next,
                      size_t *last) {
    for (size_t t = 0; t <= s->n; t++)
        best[t] = t < least ? INFINITY : cost(s, 0, t);
    for (size_t k = 1; k <= count; k++) {
        for (size_t t = 0; t <= s->n; t++) {
            next[t] = INFINITY;
            for (size_t c = k * least; c + least <= t; c++) {
                double here = best[c] + cost(s, c, t);
                if (here < next[t]) {
                    next[t] = here;
                    last[k * (s->n + 1) + t] = c;
                }
            }
        }
        for (size_t t = 0; t <= s->n; t++)
            best[t] = next[t];
    }
}

shot_status shot_levels_exact(const double *y, size_t n, size_t count, size_t min_samples,
                              shot_levels **out) {
    *out = NULL;
    if (min_samples < 1)
        return SHOT_ERR_RANGE;
    series s;
    shot_status status = series_take(y, n, &s);
    if (status == SHOT_OK && (count >= s.n || s.n / (count + 1) < min_samples))
        status = SHOT_ERR_SINGULAR;
    if (status != SHOT_OK) {
        series_free(&s);
        return status;
    }
    double *best = calloc(2 * (s.n + 1), sizeof *best);
    size_t *last = calloc((count + 1) * (s.n + 1), sizeof *last);
    size_t *breaks = calloc(count + 1, sizeof *breaks);
    status = SHOT_ERR_MEMORY;
    if (best && last && breaks) {
        partition(&s, count, min_samples, best, best + s.n + 1, last);
        for (size_t k = count, t = s.n; k > 0; k--)
            breaks[k - 1] = t = last[k * (s.n + 1) + t];
        status = deliver(&s, y, breaks, count, out);
    }
    free(best);
    free(last);
    free(breaks);
    series_free(&s);
    return status;
}

void shot_levels_free(shot_levels *levels) {
    if (!levels)
        return;
    free(levels->first);
    free(levels->mean);
    free(levels);
}

double shot_levels_penalty(size_t n, double sd) {
    return 2 * sd * sd * log((double)n);
}

double shot_levels_bic(const shot_levels *levels) {
    double n = (double)levels->used, two_pi = 6.283185307179586;
    return n * (log(two_pi * levels->rss / n) + 1) + 2 * ((double)levels->count + 1) * log(n);
}

/* exp(a) times the standard normal distribution function at -x, x >= 0, without overflow. */
static double exp_normal_tail(double a, double x) {
    double tail = 0.5 * erfc(x / sqrt(2.0));
    if (tail > 1e-290)
        return exp(a + log(tail));
    return exp(a - 0.5 * x * x) / (x * 2.5066282746310002) * (1 - 1 / (x * x));
}

/* Bai 1997, appendix B, equations for v <= 0 and v > 0. */
double shot_levels_argmax_cdf(double v, double xi, double scale) {
    double phi = xi * scale * scale, x = fabs(v), two_pi = 6.283185307179586;
    if (v <= 0) {
        double f = xi / phi;
        double value = -sqrt(x / two_pi) * exp(-x / 8);
        value -= phi / xi * (phi + 2 * xi) / (phi + xi) *
                 exp_normal_tail(f * (1 + f) * x / 2, (0.5 + f) * sqrt(x));
        value += (x / 2 - 2 + (phi + 2 * xi) * (phi + 2 * xi) / ((phi + xi) * xi)) * 0.5 *
                 erfc(sqrt(x / 8));
        return value;
    }
    double f = xi * xi / phi;
    double value = 1 + sqrt(f * x / two_pi) * exp(-f * x / 8);
    value += xi / phi * (2 * phi + xi) / (phi + xi) *
             exp_normal_tail((phi + xi) * x / 2, (phi + xi / 2) / sqrt(phi) * sqrt(x));
    value -= ((2 * phi + xi) * (2 * phi + xi) / ((phi + xi) * phi) - 2 + f * x / 2) * 0.5 *
             erfc(sqrt(f * x / 8));
    return value;
}

static double argmax_quantile(double p, double scale) {
    double low = -1, high = 1;
    while (shot_levels_argmax_cdf(low, 1, scale) > p && low > -1e9)
        low *= 2;
    while (shot_levels_argmax_cdf(high, 1, scale) < p && high < 1e9)
        high *= 2;
    for (int i = 0; i < 80; i++) {
        double middle = 0.5 * (low + high);
        if (shot_levels_argmax_cdf(middle, 1, scale) < p)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* Mean square about `mean` of the samples from .. to-1 that are not missing. */
static double spread(const double *y, size_t from, size_t to, double mean) {
    double sum = 0, n = 0;
    for (size_t i = from; i < to; i++) {
        if (isnan(y[i]))
            continue;
        sum += (y[i] - mean) * (y[i] - mean);
        n++;
    }
    return sum / n;
}

shot_status shot_levels_interval(const shot_levels *levels, const double *y, size_t n, size_t j,
                                 double confidence, double inflation, double *low, double *high) {
    if (j >= levels->count || !(confidence > 0 && confidence < 1) || !(inflation > 0))
        return SHOT_ERR_RANGE;
    size_t from = j ? levels->first[j - 1] : 0, at = levels->first[j];
    size_t to = j + 1 < levels->count ? levels->first[j + 1] : n;
    double before = spread(y, from, at, levels->mean[j]) * inflation;
    double after = spread(y, at, to, levels->mean[j + 1]) * inflation;
    double jump = levels->mean[j + 1] - levels->mean[j], a = (1 - confidence) / 2;
    if (!(before > 0 && after > 0)) {
        *low = *high = (double)at; /* a level without scatter leaves no doubt */
        return SHOT_OK;
    }
    double unit = before / (jump * jump), scale = sqrt(after / before);
    *low = floor((double)at - argmax_quantile(1 - a, scale) * unit);
    *high = ceil((double)at - argmax_quantile(a, scale) * unit);
    return SHOT_OK;
}
