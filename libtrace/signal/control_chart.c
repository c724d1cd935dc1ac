/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Control charts. */
#include <shottrace/signal/control_chart.h>
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/special.h>

#include <math.h>

/* Beyond 10 a normal tail is 8e-24, nothing beside 1e-9 for any n in use.  The trapezoidal rule on
 * a function that is smooth and vanishes at both ends has no error to speak of at this step. */
static const double reach = 10, step = 0.05;

/* E(R) is the integral of 1 - Phi^n - (1 - Phi)^n: Tippett 1925. */
static double mean_range(double n) {
    double sum = 0;
    for (double x = -reach; x <= reach; x += step)
        sum += 1 - pow(shot_normal_cdf(x), n) - pow(shot_normal_tail(x), n);
    return sum * step;
}

/* The chance that the smallest of n is below x and the largest above x + r, over all x. */
static double straddled(double r, double n) {
    double sum = 0;
    for (double x = -reach - r; x <= reach; x += step) {
        double under = shot_normal_cdf(x), over = shot_normal_tail(x + r);
        sum += 1 - pow(1 - over, n) - pow(1 - under, n) + pow(fmax(1 - over - under, 0), n);
    }
    return sum * step;
}

/* E(R^2) is twice the integral of that over r > 0, by Gauss-Legendre with 5 points in panels
 * (Abramowitz & Stegun 1964, table 25.4). */
static double mean_square_range(double n) {
    static const double node[] = {0, 0.538469310105683, 0.906179845938664};
    static const double weight[] = {0.568888888888889, 0.478628670499366, 0.236926885056189};
    static const double panel = 0.5;
    double sum = 0;
    for (double middle = panel / 2; middle < 2 * reach; middle += panel)
        for (int i = -2; i <= 2; i++) {
            double offset = i < 0 ? -node[-i] : node[i];
            sum += weight[i < 0 ? -i : i] * straddled(middle + offset * panel / 2, n);
        }
    return 2 * sum * panel / 2;
}

shot_status shot_control_chart_constants(size_t n, shot_shewhart *out) {
    if (n < 2)
        return SHOT_ERR_RANGE;
    double count = (double)n;
    shot_shewhart s = {.d2 = mean_range(count)};
    s.d3 = sqrt(mean_square_range(count) - s.d2 * s.d2);
    s.c4 = sqrt(2 / (count - 1)) *
           exp(shot_special_log_gamma(count / 2) - shot_special_log_gamma((count - 1) / 2));
    double range = 3 * s.d3 / s.d2, deviation = 3 * sqrt(1 - s.c4 * s.c4) / s.c4;
    s.a2 = 3 / (s.d2 * sqrt(count));
    s.D3 = fmax(1 - range, 0);
    s.D4 = 1 + range;
    s.a3 = 3 / (s.c4 * sqrt(count));
    s.B3 = fmax(1 - deviation, 0);
    s.B4 = 1 + deviation;
    *out = s;
    return SHOT_OK;
}

shot_status shot_control_chart_individuals(const double *x, size_t n, double widths,
                                           shot_control_limits *values,
                                           shot_control_limits *ranges) {
    if (!(widths > 0))
        return SHOT_ERR_RANGE;
    /* Range of two values: mean 2/sqrt(pi), standard deviation sqrt(2 - 4/pi), in sigmas. */
    static const double d2 = 1.128379167095512574, d3 = 0.852502466384694;
    double sum = 0, range_sum = 0, before = NAN;
    size_t present = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        sum += x[i];
        range_sum += present > 0 ? fabs(x[i] - before) : 0;
        before = x[i];
        present++;
    }
    if (present < 2)
        return SHOT_ERR_SINGULAR;
    double centre = sum / (double)present, range = range_sum / (double)(present - 1);
    double sigma = range / d2;
    *values =
        (shot_control_limits){centre, sigma, centre - widths * sigma, centre + widths * sigma};
    if (ranges != NULL)
        *ranges = (shot_control_limits){range, d3 * sigma, fmax(0, range - widths * d3 * sigma),
                                        range + widths * d3 * sigma};
    return SHOT_OK;
}

void shot_control_chart_bound(const double *x, size_t n, double least,
                              shot_control_limits *limits) {
    for (size_t i = 0; i < n; i++)
        if (x[i] < least)
            return;
    limits->low = fmax(limits->low, least);
}

shot_status shot_control_chart_ewma(const double *x, size_t n, double lambda, double target,
                                    double *z) {
    if (!(lambda > 0 && lambda <= 1) || !isfinite(target))
        return SHOT_ERR_RANGE;
    double average = target;
    for (size_t i = 0; i < n; i++) {
        if (!isnan(x[i]))
            average += lambda * (x[i] - average);
        z[i] = average;
    }
    return SHOT_OK;
}

double shot_control_chart_ewma_width(double lambda, size_t i) {
    double left = i == 0 ? 0 : pow(1 - lambda, 2 * (double)i);
    return sqrt(lambda / (2 - lambda) * (1 - left));
}

void shot_control_chart_signals(const double *x, size_t n, const shot_control_limits *limits,
                                unsigned char *signal) {
    enum { RUN = 9 };
    size_t run = 0;
    int side = 0;
    for (size_t i = 0; i < n; i++) {
        signal[i] = 0;
        if (isnan(x[i]))
            continue;
        int here = (x[i] > limits->centre) - (x[i] < limits->centre);
        run = here != 0 && here == side ? run + 1 : here != 0;
        side = here;
        if (x[i] < limits->low || x[i] > limits->high)
            signal[i] |= SHOT_CONTROL_OUTSIDE;
        if (run >= RUN)
            signal[i] |= SHOT_CONTROL_RUN;
    }
}
