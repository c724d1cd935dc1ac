/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many shots of each kind settle the question. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>
#include <shottrace/signal/sample_size.h>
#include <shottrace/signal/special.h>

#include <math.h>
#include <stdbool.h>

enum { MOST = 1000000 };

static bool valid(double sigma, size_t n, size_t m, double alpha) {
    return sigma > 0 && isfinite(sigma) && n >= 1 && m >= 1 && n + m >= 3 && alpha > 0 && alpha < 1;
}

static double standard_error(double sigma, size_t n, size_t m) {
    return sigma * sqrt(1 / (double)n + 1 / (double)m);
}

double shot_sample_size_detect_power(double difference, double sigma, size_t n, size_t m,
                                     double alpha) {
    if (!valid(sigma, n, m, alpha) || !isfinite(difference))
        return NAN;
    double df = (double)n + (double)m - 2, t = shot_student_quantile(1 - alpha / 2, df);
    double delta = difference / standard_error(sigma, n, m);
    return shot_noncentral_student_cdf(-t, df, delta) + shot_noncentral_student_cdf(-t, df, -delta);
}

/* Both one-sided tests succeed where |difference seen| < margin - t s, s the standard error seen:
 * the normal chance of that, averaged over the distribution of s by Simpson's rule.  */
double shot_sample_size_equivalence_power(double margin, double difference, double sigma, size_t n,
                                          size_t m, double alpha) {
    if (!valid(sigma, n, m, alpha) || !(margin > 0) || !isfinite(difference))
        return NAN;
    enum { STEPS = 200 };
    double df = (double)n + (double)m - 2, t = shot_student_quantile(1 - alpha, df);
    double se = standard_error(sigma, n, m);
    double above = (margin - difference) / se, below = (-margin - difference) / se;
    /* q = s/se; its spread is about 1/sqrt(2 df). */
    double spread = 9 / sqrt(2 * df), from = fmax(1 - spread, 0);
    double to = fmin(1 + spread, (above - below) / (2 * t));
    double log_constant = log(2) + df / 2 * log(df / 2) - shot_special_log_gamma(df / 2);
    double sum = 0, step = (to - from) / STEPS;
    for (int i = 0; i <= STEPS && to > from; i++) {
        double q = from + i * step;
        double density = q > 0 ? exp(log_constant + (df - 1) * log(q) - df / 2 * q * q) : 0;
        double chance = shot_normal_cdf(above - t * q) - shot_normal_cdf(below + t * q);
        sum += (i == 0 || i == STEPS ? 1 : i % 2 ? 4 : 2) * density * chance;
    }
    return fmin(fmax(sum * step / 3, 0), 1);
}

typedef double (*power_of)(double size, double sigma, size_t n, double alpha);

static double detect(double difference, double sigma, size_t n, double alpha) {
    return shot_sample_size_detect_power(difference, sigma, n, n, alpha);
}

static double equivalence(double margin, double sigma, size_t n, double alpha) {
    return shot_sample_size_equivalence_power(margin, 0, sigma, n, n, alpha);
}

/* Power rises with n: double until it is enough, then halve the interval. */
static shot_status smallest(power_of f, double size, double sigma, double alpha, double power,
                            size_t *n) {
    if (!valid(sigma, 2, 2, alpha) || !(fabs(size) > 0) || !isfinite(size) ||
        !(power > alpha && power < 1))
        return SHOT_ERR_RANGE;
    size_t low = 1, high = 2; /* low is too few, high is enough */
    while (f(size, sigma, high, alpha) < power) {
        low = high;
        high *= 2;
        if (high > MOST)
            return SHOT_ERR_SINGULAR;
    }
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (f(size, sigma, middle, alpha) < power)
            low = middle;
        else
            high = middle;
    }
    *n = high;
    return SHOT_OK;
}

shot_status shot_sample_size_detect(double difference, double sigma, double alpha, double power,
                                    size_t *n) {
    return smallest(detect, difference, sigma, alpha, power, n);
}

shot_status shot_sample_size_equivalence(double margin, double sigma, double alpha, double power,
                                         size_t *n) {
    if (!(margin > 0))
        return SHOT_ERR_RANGE;
    return smallest(equivalence, margin, sigma, alpha, power, n);
}

struct design {
    size_t n, m;
    double alpha, power;
};

static double missing_power(double difference, const void *context) {
    const struct design *d = context;
    return shot_sample_size_detect_power(difference, 1, d->n, d->m, d->alpha) - d->power;
}

shot_status shot_sample_size_detectable(double sigma, size_t n, size_t m, double alpha,
                                        double power, double *difference) {
    *difference = NAN;
    if (!valid(sigma, n, m, alpha) || !(power > alpha && power < 1))
        return SHOT_ERR_RANGE;
    struct design d = {n, m, alpha, power};
    double most = 1;
    while (missing_power(most, &d) < 0)
        most *= 2;
    SHOT_TRY(shot_root_find(missing_power, &d, 0, most, 1e-9, difference));
    *difference *= sigma;
    return SHOT_OK;
}

shot_status shot_sample_size_sigma(double sd, double df, double level, double *low, double *high) {
    if (!(sd >= 0) || !(df > 0) || !(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    *low = sd * sqrt(df / shot_chi_square_quantile((1 + level) / 2, df));
    *high = sd * sqrt(df / shot_chi_square_quantile((1 - level) / 2, df));
    return SHOT_OK;
}
