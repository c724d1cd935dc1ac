/* SPDX-License-Identifier: GPL-3.0-or-later */
/* False-alarm probabilities of periodogram peaks. */
#include <shottrace/signal/false_alarm.h>

#include <math.h>

#include <shottrace/signal/special.h>

#include "signal/pi.h"

static int is_power(double z, size_t n) {
    return z >= 0 && z <= 1 && n >= 5;
}

double shot_false_alarm_single(double z, size_t n) {
    return is_power(z, n) ? pow(1 - z, ((double)n - 3) / 2) : NAN;
}

/* 1 - (1 - p)^m without losing a small p. */
static double any_of(double p, double m) {
    return -expm1(m * log1p(-p));
}

double shot_false_alarm_naive(double z, size_t n, double highest, double span) {
    return any_of(shot_false_alarm_single(z, n), highest * span);
}

/* Expected number of up-crossings of z in the search: Baluev 2008, equation 6 and Table 1, for the
 * standard normalisation with a fitted mean. */
static double crossings(double z, size_t count, double highest, double variance) {
    const double n = (double)count;
    const double bandwidth = highest * sqrt(4 * SHOT_PI * variance);
    const double gamma = sqrt(2 / (n - 1)) * exp(shot_special_log_gamma((n - 1) / 2) -
                                                 shot_special_log_gamma((n - 2) / 2));
    return gamma * bandwidth * pow(1 - z, (n - 4) / 2) * sqrt((n - 1) * z / 2);
}

double shot_false_alarm_davies(double z, size_t n, double highest, double variance) {
    if (!is_power(z, n))
        return NAN;
    return shot_false_alarm_single(z, n) + crossings(z, n, highest, variance);
}

double shot_false_alarm_baluev(double z, size_t n, double highest, double variance) {
    if (!is_power(z, n))
        return NAN;
    /* 1 - (1 - single) exp(-crossings) */
    return -expm1(log1p(-shot_false_alarm_single(z, n)) - crossings(z, n, highest, variance));
}

double shot_false_alarm_known(double ratio, double m) {
    return ratio >= 0 && m > 0 ? any_of(exp(-ratio), m) : NAN;
}

double shot_false_alarm_known_level(double p, double m) {
    return p > 0 && p < 1 && m > 0 ? -log(-expm1(log1p(-p) / m)) : NAN;
}
