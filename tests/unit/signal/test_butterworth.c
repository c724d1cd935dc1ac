/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the Butterworth low-pass has its published coefficients and response, once and in two
 * passes, and two passes keep straight lines straight. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/butterworth.h>
#include <shottrace/signal/random.h>
#include <signal/pi.h>

enum { MOST = 8 };

/* The sections multiplied out: b[0..order], a[0..order]. */
static void multiply_out(const shot_biquad *s, size_t order, double *b, double *a) {
    double nb[MOST + 3], na[MOST + 3];
    memset(b, 0, (MOST + 3) * sizeof *b);
    memset(a, 0, (MOST + 3) * sizeof *a);
    b[0] = a[0] = 1;
    for (size_t k = 0; k < SHOT_BUTTERWORTH_SECTIONS(order); k++) {
        for (size_t i = MOST + 3; i-- > 0;) {
            nb[i] = na[i] = 0;
            for (size_t j = 0; j < 3 && j <= i; j++) {
                nb[i] += s[k].b[j] * b[i - j];
                na[i] += (j == 0 ? 1 : s[k].a[j - 1]) * a[i - j];
            }
        }
        memcpy(b, nb, sizeof nb);
        memcpy(a, na, sizeof na);
    }
}

/* Source: scipy 1.10.1 butter(n, Wn), Wn in units of Nyquist; butter(2, 0.2) also by Octave.
 * Printed to 14 digits. */
static void coefficients_are_the_published_ones(void **state) {
    static const struct {
        size_t order;
        double wn, b[5], a[5];
    } known[] = {
        {1, 0.1, {0.13672873599732, 0.13672873599732}, {1, -0.72654252800536}},
        {2,
         0.1,
         {0.020083365564211, 0.040166731128422, 0.020083365564211},
         {1, -1.5610180758007, 0.64135153805756}},
        {2,
         0.2,
         {0.067455273889072, 0.13491054777814, 0.067455273889072},
         {1, -1.1429805025399, 0.41280159809619}},
        {3,
         0.25,
         {0.031689343849711, 0.095068031549133, 0.095068031549133, 0.031689343849711},
         {1, -1.4590290622281, 0.91036900029007, -0.19782518726432}},
        {4,
         0.2,
         {0.0048243433577162, 0.019297373430865, 0.028946060146297, 0.019297373430865,
          0.0048243433577162},
         {1, -2.369513007182, 2.3139884144159, -1.0546654058786, 0.18737949236818}},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        shot_biquad s[2];
        double b[MOST + 3], a[MOST + 3];
        assert_int_equal(shot_butterworth_design(known[i].order, known[i].wn / 2, s), SHOT_OK);
        multiply_out(s, known[i].order, b, a);
        for (size_t k = 0; k <= known[i].order; k++) {
            assert_close(b[k], known[i].b[k], 1e-13);
            assert_close(a[k], known[i].a[k], 5e-13);
        }
    }
}

/* |H|^2 of all sections at a frequency in cycles per sample. */
static double power_at(const shot_biquad *s, size_t count, double f) {
    double power = 1;
    const double c1 = cos(2 * SHOT_PI * f), s1 = sin(2 * SHOT_PI * f), c2 = cos(4 * SHOT_PI * f),
                 s2 = sin(4 * SHOT_PI * f);
    for (size_t k = 0; k < count; k++) {
        const double *b = s[k].b, *a = s[k].a;
        const double nr = b[0] + b[1] * c1 + b[2] * c2, ni = b[1] * s1 + b[2] * s2;
        const double dr = 1 + a[0] * c1 + a[1] * c2, di = a[0] * s1 + a[1] * s2;
        power *= (nr * nr + ni * ni) / (dr * dr + di * di);
    }
    return power;
}

/* Butterworth 1930: |H|^2 = 1 / (1 + (w / wc)^2n), w the warped frequency; so half at the cut-off
 * for every order, and for two passes designed for it. */
static void response_is_maximally_flat(void **state) {
    for (size_t order = 1; order <= MOST; order++) {
        const size_t count = SHOT_BUTTERWORTH_SECTIONS(order);
        for (double cutoff = 0.01; cutoff < 0.5; cutoff += 0.07) {
            shot_biquad s[MOST];
            assert_int_equal(shot_butterworth_design(order, cutoff, s), SHOT_OK);
            assert_rel(power_at(s, count, cutoff), 0.5, 1e-12);
            for (double f = 0.005; f < 0.49; f += 0.03) {
                const double w = tan(SHOT_PI * f) / tan(SHOT_PI * cutoff);
                assert_rel(power_at(s, count, f), 1 / (1 + pow(w, 2 * (double)order)), 1e-10);
            }
            const double wider = shot_butterworth_for_two_passes(order, cutoff);
            assert_int_equal(shot_butterworth_design(order, wider, s), SHOT_OK);
            const double once = power_at(s, count, cutoff);
            assert_rel(once * once, 0.5, 1e-11);
        }
    }
}

static const double pulse[12] = {0, 0, 1, 1, 1, 2, 4, 4, 3, 3, 3, 3};

/* scipy 1.10.1 lfilter(butter(2, 0.2)), zero initial state. */
static void one_pass_is_that_of_the_reference(void **state) {
    static const double known[12] = {0,
                                     0,
                                     0.0674552738891,
                                     0.279465884516,
                                     0.561399507822,
                                     0.863581097279,
                                     1.36240720755,
                                     2.14509105216,
                                     2.90122248459,
                                     3.30746227958,
                                     3.39219890705,
                                     3.32135478351};
    shot_biquad s[1];
    double x[12], memory[2] = {0};
    memcpy(x, pulse, sizeof x);
    assert_int_equal(shot_butterworth_design(2, 0.1, s), SHOT_OK);
    shot_butterworth_filter(s, 1, x, 5, memory); /* in two pieces */
    shot_butterworth_filter(s, 1, x + 5, 7, memory);
    for (size_t i = 0; i < 12; i++)
        assert_close(x[i], known[i], 1e-11);
}

static void straight_lines_stay_straight(void **state) {
    static double work[3 * 500 + 2 * MOST];
    for (size_t order = 1; order <= MOST; order++) {
        for (size_t n = 1; n <= 500; n = n * 2 + 1) {
            shot_biquad s[MOST];
            double x[500];
            const size_t count = SHOT_BUTTERWORTH_SECTIONS(order);
            assert_true(shot_butterworth_workspace(n, count) <= sizeof work / sizeof *work);
            assert_int_equal(shot_butterworth_design(order, 0.02, s), SHOT_OK);
            for (size_t i = 0; i < n; i++)
                x[i] = 9 - 0.05 * (double)i;
            shot_butterworth_zero_phase(s, count, x, n, work);
            /* rounding grows with the square of the filter's memory, some 50 samples an order */
            for (size_t i = 0; i < n; i++)
                assert_close(x[i], 9 - 0.05 * (double)i, 1e-9);
        }
    }
}

/* Far from the ends the edge rule does not matter: the same as filtering a longer signal with the
 * power response of one pass, found from the impulse; and the reversed signal gives the reversed
 * result. */
static void two_passes_have_no_direction(void **state) {
    enum { N = 400 };
    static double x[N], y[N], work[3 * N + 2 * MOST];
    shot_random random = shot_random_at(2, 2);
    shot_biquad s[2];
    assert_int_equal(shot_butterworth_design(3, 0.1, s), SHOT_OK);
    for (size_t i = 0; i < N; i++)
        x[i] = y[N - 1 - i] = shot_random_normal(&random);
    shot_butterworth_zero_phase(s, 2, x, N, work);
    shot_butterworth_zero_phase(s, 2, y, N, work);
    for (size_t i = 100; i < N - 100; i++)
        assert_close(x[i], y[N - 1 - i], 1e-9);
}

static void impossible_designs_are_refused(void **state) {
    shot_biquad s[1];
    assert_int_equal(shot_butterworth_design(2, 1e-6, s), SHOT_OK);
    assert_rel(sqrt(power_at(s, 1, 0)), 1, 1e-5); /* what the lowest cut-off is for */
    assert_int_equal(shot_butterworth_design(0, 0.1, s), SHOT_ERR_RANGE);
    assert_int_equal(shot_butterworth_design(2, 0, s), SHOT_ERR_RANGE);
    assert_int_equal(shot_butterworth_design(2, 0.5, s), SHOT_ERR_RANGE);
    assert_int_equal(shot_butterworth_design(2, 0.9e-6, s), SHOT_ERR_RANGE);
    assert_int_equal(shot_butterworth_design(2, 1e-320, s), SHOT_ERR_RANGE);
    assert_int_equal(shot_butterworth_design(2, NAN, s), SHOT_ERR_RANGE);
}

enum { LENGTH = 60, SERIES = 4000 };

/* The mean squares of the filtered rows of noise that keeps so much of itself from row to row. */
static void filter_noise(const shot_biquad *s, double lag1, double *sum, double *work) {
    shot_random random = shot_random_at(47, 1);
    for (int k = 0; k < SERIES; k++) {
        double x[LENGTH];
        x[0] = shot_random_normal(&random);
        for (size_t i = 1; i < LENGTH; i++)
            x[i] = lag1 * x[i - 1] + sqrt(1 - lag1 * lag1) * shot_random_normal(&random);
        shot_butterworth_zero_phase(s, 2, x, LENGTH, work);
        for (size_t i = 0; i < LENGTH; i++)
            sum[i] += x[i] * x[i] / SERIES;
    }
}

/* The gain is the variance of the filtered rows of noise, white or not: over 4000 series of
 * variance 1 a mean square is off by sqrt(2 / 4000), 2.2 %; 5 of these.  Rows far from the ends
 * share one gain, in white noise the power of the response summed over frequencies (Parseval's
 * theorem). */
static void the_gain_is_what_noise_becomes(void **state) {
    enum { LONG = 1000 };
    static double gain[LONG];
    shot_biquad s[2];
    double *work = malloc(shot_butterworth_gain_workspace(LONG, 2) * sizeof *work);
    double power = 0;
    assert_int_equal(shot_butterworth_design(3, 0.11, s), SHOT_OK);
    for (double lag1 = 0; lag1 < 1; lag1 += 0.7) {
        double sum[LENGTH] = {0};
        filter_noise(s, lag1, sum, work);
        shot_butterworth_gain(s, 2, LENGTH, lag1, gain, work);
        for (size_t i = 0; i < LENGTH; i++)
            assert_rel(sum[i], gain[i], 0.11);
    }
    shot_butterworth_gain(s, 2, LONG, 0, gain, work);
    for (int f = 0; f < 2000; f++)
        power += pow(power_at(s, 2, (f + 0.5) / 4000), 2) / 2000;
    assert_rel(gain[LONG / 2], power, 1e-9);
    assert_rel(gain[300], gain[700], 1e-12);
    assert_rel(gain[3], gain[LONG - 4], 1e-6); /* two passes, but for what the first left behind */
    free(work);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(coefficients_are_the_published_ones),
        cmocka_unit_test(response_is_maximally_flat),
        cmocka_unit_test(one_pass_is_that_of_the_reference),
        cmocka_unit_test(straight_lines_stay_straight),
        cmocka_unit_test(two_passes_have_no_direction),
        cmocka_unit_test(impossible_designs_are_refused),
        cmocka_unit_test(the_gain_is_what_noise_becomes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
