/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ratio of the scatter of two groups. */
#include <shottrace/signal/scatter_ratio.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/normal.h>
#include <shottrace/signal/sample_quantile.h>

#include "signal/running_moments.h"

/* ---- two groups ---- */

/* The values that are there, rising.  Returns how many. */
static size_t sort_present(const double *x, size_t n, double *sorted) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            sorted[count++] = x[i];
    shot_sample_quantile_sort(sorted, count);
    return count;
}

/* The mean of what is left where the part 1/(2 sqrt(n - 4)) of either end is not: the fewer values
 * there are, the more of them.  At least the middle one stays. */
static double trimmed_mean(const double *sorted, size_t n) {
    const size_t most = (n - 1) / 2;
    const double part = (double)n / (2 * sqrt((double)n - 4));
    const size_t cut = part < (double)most ? (size_t)part : most;
    return shot_moments_find(sorted + cut, n - 2 * cut).mean;
}

/* Of the distances from the middle in units of `sd`, so that none overflows. */
static double fourth_powers(const double *sorted, size_t n, double middle, double sd) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        const double off = sorted[i] / sd - middle / sd, square = off * off;
        sum += square * square;
    }
    return sum;
}

/* Bonett's correction for few values, n/(n - z), grows without bound as z comes near n, and says
 * that groups alike are not (bench of 5 against 50 values, z = 4.4: 0.2 % where 0.001 % were
 * asked): past this the values are too few for the level. */
static const double most_correction = 3;

static double few_values(double n, double z) {
    return n > z && n / (n - z) <= most_correction ? n / (n - z) : NAN;
}

/* What a group adds to the variance of ln(s^2 of a / s^2 of b). */
static double variance_of_log(double kurtosis, double n) {
    return (kurtosis - (n - 3) / n) / (n - 1);
}

static shot_status compare(const double *a, size_t n, const double *b, size_t m, double rounding,
                           double level, shot_scatter_ratio *out) {
    if (n < SHOT_SCATTER_RATIO_LEAST || m < SHOT_SCATTER_RATIO_LEAST)
        return SHOT_ERR_SINGULAR;
    const double sa = shot_moments_find(a, n).sd, sb = shot_moments_find(b, m).sd;
    const double unit = fmax(sa, sb), least = sqrt(rounding);
    const double ratio = fmax(sa, least) / fmax(sb, least), in_a = sa / unit, in_b = sb / unit;
    const double squares = (double)(n - 1) * in_a * in_a + (double)(m - 1) * in_b * in_b;
    if (!(unit > 0) || !(ratio > 0))
        return SHOT_ERR_SINGULAR;
    const double kurtosis = (double)(n + m) *
                            (fourth_powers(a, n, trimmed_mean(a, n), unit) +
                             fourth_powers(b, m, trimmed_mean(b, m), unit)) /
                            (squares * squares);
    const double z = shot_normal_quantile((1 + level) / 2);
    const double few = few_values((double)n, z) / few_values((double)m, z);
    const double half =
        z / 2 *
        sqrt(fmax(variance_of_log(kurtosis, (double)n) + variance_of_log(kurtosis, (double)m), 0));
    const double middle = log(few) / 2 + log(ratio);
    const shot_scatter_ratio found = {ratio, exp(middle - half), exp(middle + half), 0};
    if (!isfinite(found.low) || !isfinite(found.high))
        return SHOT_ERR_SINGULAR;
    *out = found;
    return SHOT_OK;
}

shot_status shot_scatter_ratio_find(const double *a, size_t n, const double *b, size_t m,
                                    double rounding, double level, shot_scatter_ratio *out) {
    if (!(level > 0 && level < 1) || !(rounding >= 0))
        return SHOT_ERR_RANGE;
    double *room = malloc((n + m + 1) * sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    const size_t in_a = sort_present(a, n, room), in_b = sort_present(b, m, room + n);
    const shot_status status = compare(room, in_a, room + n, in_b, rounding, level, out);
    free(room);
    return status;
}

/* ---- in blocks ---- */

/* The digamma function at half of a whole number > 0: psi(1/2) or psi(1), and psi(x + 1) = psi(x) +
 * 1/x (Abramowitz & Stegun 1964, 6.3.2 to 6.3.5). */
static double digamma_of_half(double twice) {
    static const double euler = 0.57721566490153286061, ln_4 = 1.3862943611198906188;
    const bool odd = fmod(twice, 2) == 1;
    double value = odd ? -euler - ln_4 : -euler;
    for (double x = odd ? 0.5 : 1; 2 * x < twice; x++)
        value += 1 / x;
    return value;
}

/* The logarithm of the variance, less its bias; NaN where nothing tells it. */
static double log_variance(const running_moments *s, double rounding) {
    const double df = s->count - 1;
    if (!(df >= 1))
        return NAN;
    return log(fmax(s->squares / df, rounding)) - (digamma_of_half(df) - log(df / 2));
}

/* Ratios that scatter by less than this part are alike but for rounding. */
static const double rounding_of_logs = 1e-12;

/* The logarithms of the blocks' ratios.  Returns how many are finite. */
static size_t collect(const running_moments *sides, size_t blocks, double rounding, double *logs) {
    size_t count = 0;
    for (size_t k = 0; k < blocks; k++) {
        const double log_ratio =
            (log_variance(&sides[2 * k], rounding) - log_variance(&sides[2 * k + 1], rounding)) / 2;
        if (isfinite(log_ratio))
            logs[count++] = log_ratio;
    }
    return count;
}

static shot_status test(const double *logs, size_t count, double level, shot_scatter_ratio *out) {
    const shot_moments m = shot_moments_find(logs, count);
    if (count < 2 || !(m.sd > rounding_of_logs))
        return SHOT_ERR_SINGULAR;
    const double half =
        m.sd / sqrt((double)count) * shot_student_quantile((1 + level) / 2, (double)(count - 1));
    *out = (shot_scatter_ratio){exp(m.mean), exp(m.mean - half), exp(m.mean + half), count};
    return SHOT_OK;
}

shot_status shot_scatter_ratio_within(const double *y, const bool *second, const size_t *block,
                                      size_t blocks, size_t n, double rounding, double level,
                                      shot_scatter_ratio *out) {
    if (!(level > 0 && level < 1) || !(rounding >= 0))
        return SHOT_ERR_RANGE;
    for (size_t i = 0; i < n; i++)
        if (block[i] >= blocks)
            return SHOT_ERR_RANGE;
    running_moments *sides = calloc(2 * blocks + 1, sizeof *sides);
    double *logs = calloc(blocks + 1, sizeof *logs);
    shot_status status = SHOT_ERR_MEMORY;
    if (sides != NULL && logs != NULL) {
        for (size_t i = 0; i < n; i++)
            if (!isnan(y[i]))
                running_moments_add(&sides[2 * block[i] + second[i]], y[i]);
        status = test(logs, collect(sides, blocks, rounding, logs), level, out);
    }
    free(sides);
    free(logs);
    return status;
}
