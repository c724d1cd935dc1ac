/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the published estimate to the last printed digit in every setting, Parseval's sum,
 * segments with missing samples, and use from several threads at once. */
#include <support/check.h>

#include <pthread.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/welch.h>

#include "signal/pi.h"

static const double X[] = {2, 5, 3, -1, -4, -2, 1, 6, 4, 0, -3, -5, 1, 3, 7, 2, -1, -2, 0, 4};
enum { N = sizeof X / sizeof *X };

/* scipy.signal.welch 1.10.1 at 8 Hz, and the transform summed out by hand. */
static void check_spectrum(shot_welch_settings s, const double *expected) {
    double psd[N];
    size_t segments;
    assert_int_equal(shot_welch(X, N, 8, &s, psd, &segments), SHOT_OK);
    assert_int_equal(segments, (N - s.segment) / (s.segment - s.overlap) + 1);
    for (size_t k = 0; k <= s.segment / 2; k++)
        assert_close(psd[k], expected[k], 1e-10);
}

static void spectra_of_twenty_samples(void **state) {
    shot_welch_settings s = {.segment = 8, .overlap = 4, .window = {SHOT_WINDOW_HANN, 0}};
    s.detrend = SHOT_DETREND_MEAN;
    check_spectrum(
        s, (double[]){1.64229609986, 7.88228997086, 3.34505095501, 0.260944643829, 0.249637559815});
    s.detrend = SHOT_DETREND_NONE;
    check_spectrum(s, (double[]){0.770814732617, 6.10455860361, 3.34505095501, 0.260944643829,
                                 0.249637559815});
    s.detrend = SHOT_DETREND_LINE;
    check_spectrum(
        s, (double[]){1.71668880989, 6.70519456061, 3.15832425845, 0.261280991968, 0.249637559815});
    s.detrend = SHOT_DETREND_MEAN;
    s.window.kind = SHOT_WINDOW_RECTANGLE;
    check_spectrum(s, (double[]){0, 8.72400962219, 1.28125, 0.525990377809, 0.4609375});
    s.window.kind = SHOT_WINDOW_HAMMING;
    s.scale = SHOT_SPECTRUM_POWER;
    check_spectrum(
        s, (double[]){1.78760213339, 11.3238373073, 4.25897114485, 0.320647320343, 0.374767487996});
    s = (shot_welch_settings){.segment = 20, .detrend = SHOT_DETREND_MEAN};
    check_spectrum(s,
                   (double[]){0, 0.589968248103, 0.0797745751406, 21.5579022576, 1.66674241923, 0.5,
                              0.107725424859, 0.163952791462, 0.520757580766, 1.06317670287, 0});
}

/* sum of densities times the width of a bin = mean square, here 11.5 exactly; also for an odd
 * length, where the last bin is not half the sampling rate. */
static void densities_add_up_to_the_mean_square(void **state) {
    for (size_t n = N - 1; n <= N; n++) {
        const shot_welch_settings s = {.segment = n};
        double psd[N], sum = 0, square = 0;
        assert_int_equal(shot_welch(X, n, 8, &s, psd, NULL), SHOT_OK);
        for (size_t k = 0; k <= n / 2; k++)
            sum += psd[k] * 8 / (double)n;
        for (size_t i = 0; i < n; i++)
            square += X[i] * X[i] / (double)n;
        assert_rel(sum, square, 1e-14);
    }
    double mean_square = 0;
    for (size_t i = 0; i < N; i++)
        mean_square += X[i] * X[i] / N;
    assert_close(mean_square, 11.5, 1e-14);
}

static void a_tone_reads_half_its_squared_amplitude(void **state) {
    double x[256], power[33];
    for (size_t i = 0; i < 256; i++)
        x[i] = 9 + 3 * sin(2 * SHOT_PI * 5 / 64 * (double)i);
    const shot_welch_settings s = {.segment = 64,
                                   .overlap = 32,
                                   .window = {SHOT_WINDOW_HANN, 0},
                                   .detrend = SHOT_DETREND_MEAN,
                                   .scale = SHOT_SPECTRUM_POWER};
    assert_int_equal(shot_welch(x, 256, 100, &s, power, NULL), SHOT_OK);
    assert_close(power[5], 4.5, 1e-12);
}

static void a_segment_with_a_missing_sample_is_left_out(void **state) {
    double with_hole[N], whole[5], left[5];
    size_t segments;
    const shot_welch_settings s = {.segment = 8, .window = {SHOT_WINDOW_HANN, 0}};
    memcpy(with_hole, X, sizeof X);
    with_hole[3] = NAN;
    assert_int_equal(shot_welch(with_hole, 16, 8, &s, left, &segments), SHOT_OK);
    assert_int_equal(segments, 1);
    assert_int_equal(shot_welch(X + 8, 8, 8, &s, whole, NULL), SHOT_OK);
    assert_memory_equal(left, whole, sizeof left);
    assert_int_equal(shot_welch(with_hole, 8, 8, &s, left, &segments), SHOT_ERR_SINGULAR);
}

static void wrong_arguments_are_refused(void **state) {
    double psd[N];
    shot_welch_settings s = {.segment = 8, .overlap = 8};
    assert_int_equal(shot_welch(X, N, 8, &s, psd, NULL), SHOT_ERR_RANGE);
    s = (shot_welch_settings){.segment = 21};
    assert_int_equal(shot_welch(X, N, 8, &s, psd, NULL), SHOT_ERR_RANGE);
    s = (shot_welch_settings){.segment = 1};
    assert_int_equal(shot_welch(X, N, 8, &s, psd, NULL), SHOT_ERR_RANGE);
    s = (shot_welch_settings){.segment = 8};
    assert_int_equal(shot_welch(X, N, 0, &s, psd, NULL), SHOT_ERR_RANGE);
    s.window = (shot_window){SHOT_WINDOW_KAISER, -1};
    assert_int_equal(shot_welch(X, N, 8, &s, psd, NULL), SHOT_ERR_RANGE);
}

enum { THREADS = 8, SAMPLES = 700 };

static void *in_a_thread(void *data) {
    const double *x = data;
    static const double NO = -1;
    for (size_t segment = 16; segment < 600; segment += 7) {
        double psd[2][SAMPLES];
        const shot_welch_settings s = {.segment = segment, .window = {SHOT_WINDOW_HANN, 0}};
        for (int k = 0; k < 2; k++)
            if (shot_welch(x, SAMPLES, 1, &s, psd[k], NULL) != SHOT_OK)
                return (void *)&NO;
        if (memcmp(psd[0], psd[1], (segment / 2 + 1) * sizeof(double)) != 0)
            return (void *)&NO;
    }
    return NULL;
}

static void threads_may_plan_at_once(void **state) {
    pthread_t thread[THREADS];
    double x[SAMPLES];
    shot_random random = shot_random_at(4, 0);
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = shot_random_normal(&random);
    for (int k = 0; k < THREADS; k++)
        assert_int_equal(pthread_create(&thread[k], NULL, in_a_thread, x), 0);
    for (int k = 0; k < THREADS; k++) {
        void *wrong;
        pthread_join(thread[k], &wrong);
        assert_null(wrong);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spectra_of_twenty_samples),
        cmocka_unit_test(densities_add_up_to_the_mean_square),
        cmocka_unit_test(a_tone_reads_half_its_squared_amplitude),
        cmocka_unit_test(a_segment_with_a_missing_sample_is_left_out),
        cmocka_unit_test(wrong_arguments_are_refused),
        cmocka_unit_test(threads_may_plan_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
