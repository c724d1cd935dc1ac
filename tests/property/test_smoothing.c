/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what must hold for smoothing, differentiating and integrating any series: linearity,
 * time reversal, shift and scale of time, polynomials unchanged, derivative of the integral. Random
 * series with jitter, gaps and missing samples; values near 10, windows near 1 s. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/integral.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/running_fit.h>

enum { MOST = 250, TRIALS = 60 };

typedef struct series {
    size_t n;
    double t[MOST], y[MOST];
} series;

/* Times are multiples of 2^-10 s, so that shifts and scales by powers of two round nothing.  The
 * last row has a value: a channel that falls silent before the rows end is not waited for, as one
 * that starts late is. */
static void make(series *s, shot_random *random) {
    s->n = 40 + (size_t)shot_random_below(random, MOST - 40);
    double now = 0;
    for (size_t i = 0; i < s->n; i++) {
        now += (1 + (double)shot_random_below(random, 99)) / 1024;
        now += shot_random_chance(random, 0.01) ? 2 : 0;
        s->t[i] = now;
        s->y[i] = shot_random_chance(random, 0.1) ? NAN : 10 * shot_random_normal(random);
    }
    s->y[s->n - 1] = 1;
    s->y[0] = 1;
}

static shot_running_fit_rule draw_rule(shot_random *random) {
    const size_t order = (size_t)shot_random_below(random, 5);
    const double half = (double)(3 + shot_random_below(random, 10));
    const bool samples = shot_random_chance(random, 0.5);
    return (shot_running_fit_rule){
        .reach = {samples ? half : half / 16, samples ? half : half / 16, samples},
        .order = order,
        .derivative = (size_t)shot_random_below(random, order + 1),
        .tapered = shot_random_chance(random, 0.3),
        .fill = shot_random_chance(random, 0.3),
    };
}

static void fit(const shot_running_fit_rule *rule, const series *s, double *out, double *gain) {
    shot_running_fit *running;
    shot_running_fit_at at;
    size_t count = 0;
    assert_int_equal(shot_running_fit_new(rule, &running), SHOT_OK);
    for (size_t i = 0; i <= s->n; i++) {
        if (i < s->n)
            assert_int_equal(shot_running_fit_push(running, s->t[i], s->y[i]), SHOT_OK);
        else
            shot_running_fit_finish(running);
        for (bool ready; shot_running_fit_next(running, &at, &ready) == SHOT_OK && ready; count++) {
            out[count] = at.fitted;
            gain[count] = at.gain;
        }
    }
    assert_int_equal(count, s->n);
    shot_running_fit_free(running);
}

/* What rounding may leave: 1e-11 of values near 40 times the square root of the gain, which is what
 * the weights make of them. */
static void check_same(double actual, double expected, double gain) {
    assert_true(isnan(actual) == isnan(expected));
    if (!isnan(expected))
        assert_close(actual, expected, 1e-11 * 40 * fmax(1, sqrt(gain)));
}

static void linear(void **state) {
    static series a, b, both;
    static double fa[MOST], fb[MOST], fboth[MOST], gain[MOST];
    shot_random random = shot_random_at(41, 1);
    for (int trial = 0; trial < TRIALS; trial++) {
        const shot_running_fit_rule rule = draw_rule(&random);
        const double p = shot_random_between(&random, -2, 2);
        make(&a, &random);
        b = both = a;
        for (size_t i = 0; i < a.n; i++) {
            b.y[i] = isnan(a.y[i]) ? NAN : 10 * shot_random_normal(&random);
            both.y[i] = a.y[i] + p * b.y[i];
        }
        fit(&rule, &a, fa, gain);
        fit(&rule, &b, fb, gain);
        fit(&rule, &both, fboth, gain);
        for (size_t i = 0; i < a.n; i++)
            check_same(fboth[i], fa[i] + p * fb[i], 9 * gain[i]);
    }
}

static void reversed_time_reverses_the_result(void **state) {
    static series a, back;
    static double fa[MOST], fback[MOST], gain[MOST];
    shot_random random = shot_random_at(41, 2);
    for (int trial = 0; trial < TRIALS; trial++) {
        const shot_running_fit_rule rule = draw_rule(&random);
        make(&a, &random);
        back.n = a.n;
        for (size_t i = 0; i < a.n; i++) {
            back.t[i] = 64 - a.t[a.n - 1 - i];
            back.y[i] = a.y[a.n - 1 - i];
        }
        fit(&rule, &back, fback, gain);
        fit(&rule, &a, fa, gain);
        for (size_t i = 0; i < a.n; i++)
            check_same((rule.derivative % 2 ? -1 : 1) * fback[a.n - 1 - i], fa[i], gain[i]);
    }
}

static void shifts_and_scales_of_time_are_followed(void **state) {
    static series a, shifted, scaled;
    static double fa[MOST], fshifted[MOST], fscaled[MOST], gain[MOST], other[MOST];
    shot_random random = shot_random_at(41, 3);
    for (int trial = 0; trial < TRIALS; trial++) {
        const shot_running_fit_rule rule = draw_rule(&random);
        shot_running_fit_rule slow = rule;
        make(&a, &random);
        shifted = scaled = a;
        for (size_t i = 0; i < a.n; i++) {
            shifted.t[i] += 4096;
            scaled.t[i] *= 8;
        }
        if (!rule.reach.samples) {
            slow.reach.before *= 8;
            slow.reach.after *= 8;
        }
        fit(&rule, &shifted, fshifted, other);
        fit(&slow, &scaled, fscaled, other);
        fit(&rule, &a, fa, gain);
        for (size_t i = 0; i < a.n; i++) {
            check_same(fshifted[i], fa[i], gain[i]);
            check_same(fscaled[i] * pow(8, (double)rule.derivative), fa[i], gain[i]);
        }
    }
}

static void polynomials_pass_unchanged(void **state) {
    static series a;
    static double fa[MOST], gain[MOST];
    shot_random random = shot_random_at(41, 4);
    for (int trial = 0; trial < TRIALS; trial++) {
        shot_running_fit_rule rule = draw_rule(&random);
        double c[5];
        rule.derivative = rule.derivative > 1 ? 1 : rule.derivative;
        make(&a, &random);
        for (size_t k = 0; k <= rule.order; k++)
            c[k] = shot_random_between(&random, -1, 1) * pow(10, -(double)k);
        for (size_t i = 0; i < a.n; i++) {
            double y = 0;
            for (size_t k = rule.order + 1; k-- > 0;)
                y = y * a.t[i] + c[k];
            a.y[i] = isnan(a.y[i]) ? NAN : y;
        }
        fit(&rule, &a, fa, gain);
        for (size_t i = 0; i < a.n; i++) {
            double value = 0, slope = 0;
            for (size_t k = rule.order + 1; k-- > 0;) {
                slope = slope * a.t[i] + value;
                value = value * a.t[i] + c[k];
            }
            if (!isnan(fa[i]))
                check_same(fa[i], rule.derivative ? slope : value, gain[i]);
            else
                assert_true(isnan(a.y[i]) || isnan(gain[i]));
        }
    }
}

/* The slope of the cubic rule's integral is the signal, for a parabola under a fit of order 3. */
static void derivative_of_the_integral_is_the_signal(void **state) {
    static series a, sum;
    static double slope[MOST], gain[MOST];
    shot_random random = shot_random_at(41, 5);
    const shot_running_fit_rule rule = {.reach = {6, 6, true}, .order = 3, .derivative = 1};
    const shot_integral_rule cubic = {.degree = 3, .longest = INFINITY, .bridge = true};
    for (int trial = 0; trial < TRIALS; trial++) {
        shot_integral *integral;
        shot_integral_at at;
        size_t count = 0;
        make(&a, &random);
        sum = a;
        assert_int_equal(shot_integral_new(&cubic, &integral), SHOT_OK);
        for (size_t i = 0; i <= a.n; i++) {
            if (i < a.n) {
                a.y[i] = isnan(a.y[i]) ? NAN : 9 - 0.3 * a.t[i] + 0.02 * a.t[i] * a.t[i];
                assert_int_equal(shot_integral_push(integral, a.t[i], a.y[i]), SHOT_OK);
            } else {
                shot_integral_finish(integral);
            }
            for (; shot_integral_next(integral, &at); count++)
                sum.y[count] = at.value;
        }
        shot_integral_free(integral);
        fit(&rule, &sum, slope, gain);
        for (size_t i = 0; i < a.n; i++) /* integrals to some 200 */
            check_same(slope[i], a.y[i], 25 * gain[i]);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(linear),
        cmocka_unit_test(reversed_time_reverses_the_result),
        cmocka_unit_test(shifts_and_scales_of_time_are_followed),
        cmocka_unit_test(polynomials_pass_unchanged),
        cmocka_unit_test(derivative_of_the_integral_is_the_signal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
