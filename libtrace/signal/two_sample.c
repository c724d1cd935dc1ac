/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two groups. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>
#include <shottrace/signal/special.h>
#include <shottrace/signal/two_sample.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static bool is_level(double level) {
    return level > 0 && level < 1;
}

shot_status shot_two_sample_test(double difference, double se, double df, double level,
                                 shot_t_test *out) {
    if (!is_level(level))
        return SHOT_ERR_RANGE;
    if (!(se > 0) || !(df > 0) || !isfinite(difference))
        return SHOT_ERR_SINGULAR;
    double t = difference / se, half = shot_student_quantile((1 + level) / 2, df) * se;
    *out = (shot_t_test){
        difference,       se, df, t, 2 * shot_student_tail(fabs(t), df), difference - half,
        difference + half};
    return SHOT_OK;
}

shot_status shot_two_sample_welch(const shot_moments *a, const shot_moments *b, double level,
                                  shot_t_test *out) {
    if (a->n < 2 || b->n < 2)
        return SHOT_ERR_SINGULAR;
    double n = (double)a->n, m = (double)b->n;
    double se = hypot(a->sd / sqrt(n), b->sd / sqrt(m));
    double share = a->sd / sqrt(n) / se; /* of the standard error, squared below: of the variance */
    double from_a = share * share, from_b = 1 - from_a;
    double df = 1 / (from_a * from_a / (n - 1) + from_b * from_b / (m - 1));
    return shot_two_sample_test(a->mean - b->mean, se, df, level, out);
}

shot_status shot_two_sample_pooled(const shot_moments *a, const shot_moments *b, double level,
                                   shot_t_test *out) {
    if (a->n < 1 || b->n < 1)
        return SHOT_ERR_SINGULAR;
    double df, sd = shot_moments_pooled_sd((shot_moments[]){*a, *b}, 2, &df);
    double se = sd * sqrt(1 / (double)a->n + 1 / (double)b->n);
    return shot_two_sample_test(a->mean - b->mean, se, df, level, out);
}

shot_status shot_two_sample_paired(const double *a, const double *b, size_t n, double level,
                                   shot_t_test *out) {
    if (n < 2)
        return SHOT_ERR_SINGULAR;
    double *difference = malloc(n * sizeof *difference);
    if (difference == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < n; i++)
        difference[i] = a[i] - b[i];
    shot_moments m = shot_moments_find(difference, n);
    free(difference);
    return shot_two_sample_test(m.mean, m.sd / sqrt((double)m.n), (double)m.n - 1, level, out);
}

struct observed_t {
    double t, df, p;
};

static double excess(double delta, const void *context) {
    const struct observed_t *o = context;
    return shot_noncentral_student_cdf(o->t, o->df, delta) - o->p;
}

/* The noncentrality under which a t up to the one observed has probability p. */
static shot_status noncentrality(double t, double df, double p, double *delta) {
    struct observed_t o = {t, df, p};
    double reach = 10 + fabs(t) * 4; /* t/delta strays from 1 by less than this for any p in use */
    return shot_root_find(excess, &o, t - reach, t + reach, 1e-9, delta);
}

static shot_status find_effect(double t, double df, double root, double level,
                               shot_effect_size *out) {
    /* Hedges 1981, eq. 6e: J(m) = Gamma(m/2) / (sqrt(m/2) Gamma((m - 1)/2)); J(1) does not exist.
     */
    if (df < 2)
        return SHOT_ERR_SINGULAR;
    double j =
        exp(shot_special_log_gamma(df / 2) - shot_special_log_gamma((df - 1) / 2)) / sqrt(df / 2);
    double low, high;
    SHOT_TRY(noncentrality(t, df, (1 + level) / 2, &low));
    SHOT_TRY(noncentrality(t, df, (1 - level) / 2, &high));
    *out = (shot_effect_size){j * t * root, low * root, high * root};
    return SHOT_OK;
}

shot_status shot_two_sample_effect(const shot_t_test *test, double sd, double level,
                                   shot_effect_size *out) {
    if (!is_level(level) || !(sd > 0))
        return SHOT_ERR_RANGE;
    return find_effect(test->t, test->df, test->se / sd, level, out);
}

shot_status shot_two_sample_hedges(const shot_moments *a, const shot_moments *b, double level,
                                   shot_effect_size *out) {
    shot_t_test test;
    SHOT_TRY(shot_two_sample_pooled(a, b, level, &test));
    return find_effect(test.t, test.df, sqrt(1 / (double)a->n + 1 / (double)b->n), level, out);
}

shot_status shot_two_sample_equivalence(const shot_t_test *test, double margin, double *p) {
    if (!(margin > 0) || !(test->se > 0) || !(test->df > 0))
        return SHOT_ERR_RANGE;
    double above_low = shot_student_tail((test->difference + margin) / test->se, test->df);
    double below_high = shot_student_cdf((test->difference - margin) / test->se, test->df);
    *p = fmax(above_low, below_high);
    return SHOT_OK;
}
