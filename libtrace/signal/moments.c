/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mean, standard deviation, lag-1 autocorrelation. */
#include <shottrace/signal/moments.h>

#include <math.h>

/* Values near the largest double are summed at this part of themselves, a power of two. */
static const double small = 0x1p-600;

/* Mean of the values present, each times `scale`, about a first estimate of it: what the first sum
 * lost to rounding, the second one brings back. */
static double corrected_mean(const double *x, size_t n, double scale, size_t *count) {
    double sum = 0, rest = 0;
    *count = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        sum += x[i] * scale;
        ++*count;
    }
    double mean = sum / (double)*count;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            rest += x[i] * scale - mean;
    return mean + rest / (double)*count;
}

static shot_moments moments_of(const double *x, size_t n, double scale) {
    shot_moments m = {0, NAN, NAN};
    m.mean = corrected_mean(x, n, scale, &m.n);
    double squares = 0, rest = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        double d = x[i] * scale - m.mean;
        squares += d * d;
        rest += d;
    }
    if (m.n >= 2) {
        double count = (double)m.n;
        m.sd = isfinite(squares) ? sqrt(fmax(squares - rest * rest / count, 0) / (count - 1)) : NAN;
    }
    return m;
}

shot_moments shot_moments_find(const double *x, size_t n) {
    shot_moments m = moments_of(x, n, 1);
    if (isfinite(m.mean) && (m.n < 2 || isfinite(m.sd)))
        return m;
    m = moments_of(x, n, small);
    m.mean /= small;
    m.sd /= small;
    return m;
}

double shot_moments_lag1(const double *x, size_t n) {
    size_t count;
    double mean = corrected_mean(x, n, 1, &count), squares = 0, products = 0, before = NAN;
    for (size_t i = 0; i < n; i++) {
        double d = x[i] - mean;
        if (!isnan(d))
            squares += d * d;
        if (!isnan(d * before))
            products += d * before;
        before = d;
    }
    return squares > 0 ? products / squares : NAN;
}

double shot_moments_pooled_sd(const shot_moments *group, size_t groups, double *df) {
    double squares = 0, freedom = 0;
    for (size_t i = 0; i < groups; i++) {
        if (group[i].n < 2)
            continue;
        squares += (double)(group[i].n - 1) * group[i].sd * group[i].sd;
        freedom += (double)(group[i].n - 1);
    }
    if (df != NULL)
        *df = freedom;
    return freedom > 0 ? sqrt(squares / freedom) : NAN;
}
