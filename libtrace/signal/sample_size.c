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

/* Of a difference whose standard error se has df degrees of freedom. */
static double detect_power(double difference, double se, double df, double alpha) {
    const double t = shot_student_quantile(1 - alpha / 2, df), delta = difference / se;
    return shot_noncentral_student_cdf(-t, df, delta) + shot_noncentral_student_cdf(-t, df, -delta);
}

double shot_sample_size_detect_power(double difference, double sigma, size_t n, size_t m,
                                     double alpha) {
    if (!valid(sigma, n, m, alpha) || !isfinite(difference))
        return NAN;
    return detect_power(difference, standard_error(sigma, n, m), (double)n + (double)m - 2, alpha);
}

double shot_sample_size_detect_power_of_pairs(double difference, double sigma, size_t pairs,
                                              double alpha) {
    if (!valid(sigma, pairs, pairs, alpha) || !isfinite(difference))
        return NAN;
    return detect_power(difference, sigma / sqrt((double)pairs), (double)pairs - 1, alpha);
}

/* Both one-sided tests succeed where |difference seen| < margin - t s, s the standard error seen:
 * the normal chance of that, averaged over the distribution of s by Simpson's rule.  */
static double equivalence_power(double margin, double difference, double se, double df,
                                double alpha) {
    enum { STEPS = 200 };
    const double t = shot_student_quantile(1 - alpha, df);
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

double shot_sample_size_equivalence_power(double margin, double difference, double sigma, size_t n,
                                          size_t m, double alpha) {
    if (!valid(sigma, n, m, alpha) || !(margin > 0) || !isfinite(difference))
        return NAN;
    return equivalence_power(margin, difference, standard_error(sigma, n, m),
                             (double)n + (double)m - 2, alpha);
}

typedef double (*power_of)(double size, double sigma, size_t n, double alpha);

static double detect(double difference, double sigma, size_t n, double alpha) {
    return shot_sample_size_detect_power(difference, sigma, n, n, alpha);
}

static double equivalence(double margin, double sigma, size_t n, double alpha) {
    return shot_sample_size_equivalence_power(margin, 0, sigma, n, n, alpha);
}

static double equivalence_of_pairs(double margin, double sigma, size_t pairs, double alpha) {
    return equivalence_power(margin, 0, sigma / sqrt((double)pairs), (double)pairs - 1, alpha);
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

shot_status shot_sample_size_detect_pairs(double difference, double sigma, double alpha,
                                          double power, size_t *pairs) {
    return smallest(shot_sample_size_detect_power_of_pairs, difference, sigma, alpha, power, pairs);
}

shot_status shot_sample_size_equivalence_pairs(double margin, double sigma, double alpha,
                                               double power, size_t *pairs) {
    if (!(margin > 0))
        return SHOT_ERR_RANGE;
    return smallest(equivalence_of_pairs, margin, sigma, alpha, power, pairs);
}

/* Of a scatter of 1. */
struct design {
    double se, df, alpha, power;
};

static double missing_power(double difference, const void *context) {
    const struct design *d = context;
    return detect_power(difference, d->se, d->df, d->alpha) - d->power;
}

static shot_status detectable(const struct design *design, double sigma, double *difference) {
    double most = 1;
    if (!(design->power > design->alpha && design->power < 1))
        return SHOT_ERR_RANGE;
    while (missing_power(most, design) < 0)
        most *= 2;
    SHOT_TRY(shot_root_find(missing_power, design, 0, most, 1e-9, difference));
    *difference *= sigma;
    return SHOT_OK;
}

shot_status shot_sample_size_detectable(double sigma, size_t n, size_t m, double alpha,
                                        double power, double *difference) {
    *difference = NAN;
    if (!valid(sigma, n, m, alpha))
        return SHOT_ERR_RANGE;
    const struct design d = {standard_error(1, n, m), (double)n + (double)m - 2, alpha, power};
    return detectable(&d, sigma, difference);
}

shot_status shot_sample_size_detectable_pairs(double sigma, size_t pairs, double alpha,
                                              double power, double *difference) {
    *difference = NAN;
    if (!valid(sigma, pairs, pairs, alpha))
        return SHOT_ERR_RANGE;
    const struct design d = {1 / sqrt((double)pairs), (double)pairs - 1, alpha, power};
    return detectable(&d, sigma, difference);
}

shot_status shot_sample_size_sigma(double sd, double df, double level, double *low, double *high) {
    if (!(sd >= 0) || !(df > 0) || !(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    *low = sd * sqrt(df / shot_chi_square_quantile((1 + level) / 2, df));
    *high = sd * sqrt(df / shot_chi_square_quantile((1 - level) / 2, df));
    return SHOT_OK;
}
