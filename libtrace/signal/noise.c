/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How noisy is a channel? */
#include <shottrace/signal/noise.h>

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/median.h>

/* Neighbours 1, 2, 4, ... samples away: at least three distances, and more while they are within
 * the time in which a shot's curves stay straight. */
enum { LEAST_SPANS = 3, MOST_SPANS = 12 };
static const double straight_time = 0.4; /* s; common practice, no source */

size_t shot_noise_workspace(size_t n) {
    return 3 * n;
}

static size_t keep_present(const double *t, const double *y, size_t n, double *times,
                           double *values) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]))
            continue;
        times[count] = t[i];
        values[count++] = y[i];
    }
    return count;
}

static double median_spacing(const double *t, size_t n, double *work) {
    for (size_t i = 1; i < n; i++)
        work[i - 1] = t[i] - t[i - 1];
    return shot_median(work, n - 1);
}

/* The noise variance that the pseudo-residuals of a span show, as if the noise were white: a sample
 * less a t[i-k]..t[i+k] line has variance sd^2 (1 + a^2 + b^2), a + b = 1.  NaN with too few. */
static double white_variance(const double *t, const double *y, size_t n, size_t span,
                             double *work) {
    size_t count = 0;
    for (size_t i = span; i + span < n; i++) {
        double width = t[i + span] - t[i - span];
        double b = width > 0 ? (t[i] - t[i - span]) / width : 0.5, a = 1 - b;
        double residual = y[i] - a * y[i - span] - b * y[i + span];
        work[count++] = fabs(residual) / sqrt(1 + a * a + b * b);
    }
    if (count < 5)
        return NAN;
    double sd = SHOT_MAD_TO_SD * shot_median(work, count);
    return sd * sd;
}

/* The same for noise of variance 1 and lag-1 correlation r, evenly spaced. */
static double expected_variance(double r, size_t span) {
    double rk = pow(r, (double)span);
    return (1.5 - 2 * rk + 0.5 * rk * rk) / 1.5;
}

/* How badly correlation r fits the variances of all spans, on a log scale; *variance gets the noise
 * variance that fits best with it. */
static double misfit(const double *seen, size_t spans, double r, double *variance) {
    double sum = 0, squares = 0, count = 0;
    for (size_t s = 0; s < spans; s++) {
        if (!(seen[s] > 0))
            continue;
        double d = log(seen[s] / expected_variance(r, (size_t)1 << s));
        sum += d;
        squares += d * d;
        count++;
    }
    *variance = exp(sum / count);
    return squares - sum * sum / count;
}

/* The lag-1 correlation that fits best; 0 unless it fits clearly better than white noise. */
static double fit_correlation(const double *seen, size_t spans, size_t n, double *variance) {
    double best_variance, best = 0, white = misfit(seen, spans, 0, &best_variance), least = white;
    for (int step = 1; step < 100; step++) {
        double r = step / 100.0, with, miss = misfit(seen, spans, r, &with);
        if (miss < least) {
            least = miss;
            best = r;
            best_variance = with;
        }
    }
    /* The log of a robust variance of n residuals has variance of about 2 * 2.72 / n (the median
     * absolute deviation has an efficiency of 0.37, Hampel 1974); 4 of these are two standard
     * errors of the improvement that chance would bring. */
    bool clear = white - least > 4 * 2 * 2.72 / (double)n;
    *variance = clear ? best_variance : seen[0];
    return clear ? best : 0;
}

shot_status shot_noise_estimate(const double *t, const double *y, size_t n, double step,
                                double *work, shot_noise *out) {
    double *times = work, *values = work + n, *spare = work + 2 * n, seen[MOST_SPANS], variance;
    *out = (shot_noise){.inflation = 1};
    size_t count = keep_present(t, y, n, times, values);
    if (count < 5) {
        out->inflation = 0;
        return SHOT_ERR_SINGULAR;
    }
    out->spacing = median_spacing(times, count, spare);
    size_t spans = 0;
    for (; spans < MOST_SPANS &&
           (spans < LEAST_SPANS || out->spacing * (double)((size_t)1 << spans) <= straight_time);
         spans++)
        seen[spans] = white_variance(times, values, count, (size_t)1 << spans, spare);
    double least = step * step / 12;
    if (!(seen[0] > 0)) { /* flat but for steps, or too few: what rounding hides is all we know */
        out->sd = sqrt(least);
        return SHOT_OK;
    }
    double r = fit_correlation(seen, spans, count, &variance);
    out->sd = sqrt(fmax(variance, least));
    out->lag1 = variance > least ? r : 0;
    out->correlation = out->lag1 > 0 ? -out->spacing / log(out->lag1) : 0;
    out->inflation = (1 + out->lag1) / (1 - out->lag1);
    return SHOT_OK;
}
