/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include <shottrace/signal/cusum.h>

#include "signal/pi.h"

static void add(double z, double *sum, size_t *run) {
    *sum += z;
    if (*sum > 0) {
        ++*run;
    } else {
        *sum = 0;
        *run = 0;
    }
}

int shot_cusum_push(shot_cusum *cusum, double z) {
    if (!isnan(z)) {
        add(z - cusum->reference, &cusum->up, &cusum->up_run);
        add(-z - cusum->reference, &cusum->down, &cusum->down_run);
    }
    if (cusum->up > cusum->threshold)
        return 1;
    return cusum->down > cusum->threshold ? -1 : 0;
}

void shot_cusum_reset(shot_cusum *cusum) {
    cusum->up = cusum->down = 0;
    cusum->up_run = cusum->down_run = 0;
}

/* Mean overshoot of a normal random walk over both its barriers, Siegmund 1985. */
static const double overshoot = 1.166;

static double one_sided(double drift, double threshold) {
    double b = threshold + overshoot;
    if (fabs(drift * b) < 1e-4) /* the series: the closed form loses its digits here */
        return b * b * (1 - 2.0 / 3.0 * drift * b);
    return (expm1(-2 * drift * b) + 2 * drift * b) / (2 * drift * drift);
}

double shot_cusum_run_length(double reference, double threshold, shot_cusum_sides sides,
                             double shift) {
    double up = one_sided(shift - reference, threshold);
    if (sides == SHOT_CUSUM_ONE)
        return up;
    return 1 / (1 / up + 1 / one_sided(-shift - reference, threshold));
}

shot_status shot_cusum_threshold(double reference, shot_cusum_sides sides, double n,
                                 double alarm_rate, double *threshold) {
    if (!(reference > 0 && n >= 1 && alarm_rate > 0 && alarm_rate < 1) || !isfinite(n))
        return SHOT_ERR_RANGE;
    double wanted = -n / log1p(-alarm_rate), low = 0, high = 1;
    while (shot_cusum_run_length(reference, high, sides, 0) < wanted)
        high *= 2;
    while (high - low > 1e-12 * high) {
        double middle = 0.5 * (low + high);
        if (middle == low || middle == high)
            break;
        if (shot_cusum_run_length(reference, middle, sides, 0) < wanted)
            low = middle;
        else
            high = middle;
    }
    *threshold = high;
    return SHOT_OK;
}

/* P(largest |Brownian bridge| > s), Kolmogorov 1933: two series, each where it converges fast. */
static double bridge_tail(double s) {
    double sum = 0;
    if (s < 1) {
        for (int k = 1; k < 20 && s > 0; k++)
            sum += exp(-(2 * k - 1) * (2 * k - 1) * SHOT_PI * SHOT_PI / (8 * s * s));
        return s > 0 ? 1 - sqrt(2 * SHOT_PI) / s * sum : 1;
    }
    for (int k = 1; k < 20; k++)
        sum += (k % 2 ? 2 : -2) * exp(-2.0 * k * k * s * s);
    return sum;
}

shot_status shot_cusum_ols(const double *y, size_t n, double inflation, shot_cusum_test *out) {
    if (!(inflation > 0) || !isfinite(inflation))
        return SHOT_ERR_RANGE;
    double sum = 0, squares = 0, running = 0, largest = 0;
    size_t used = 0, at = 0;
    for (size_t i = 0; i < n; i++) {
        if (isinf(y[i]))
            return SHOT_ERR_RANGE;
        if (!isnan(y[i])) {
            sum += y[i];
            used++;
        }
    }
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]))
            continue;
        double e = y[i] - sum / (double)used;
        squares += e * e;
        running += e;
        if (fabs(running) > largest) {
            largest = fabs(running);
            at = i + 1;
        }
    }
    if (used < 2 || !(squares > 0))
        return SHOT_ERR_SINGULAR;
    double sd = sqrt(squares / (double)(used - 1) * inflation);
    out->statistic = largest / (sd * sqrt((double)used));
    out->at = at;
    out->p = bridge_tail(out->statistic);
    return SHOT_OK;
}
