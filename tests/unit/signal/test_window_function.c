/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the samples of each window in both forms, its published figures of merit, and the two
 * design rules of Kaiser. */
#include <support/check.h>

#include <shottrace/signal/window_function.h>

#include "signal/pi.h"

enum { EIGHT = 8 };

typedef struct samples {
    shot_window window;
    double periodic[EIGHT], symmetric[EIGHT];
} samples;

/* SciPy 1.10.1 get_window, fftbins true and false, printed to 10 digits. */
static const samples SAMPLES[] = {
    {{SHOT_WINDOW_RECTANGLE, 0}, {1, 1, 1, 1, 1, 1, 1, 1}, {1, 1, 1, 1, 1, 1, 1, 1}},
    {{SHOT_WINDOW_HANN, 0},
     {0, 0.1464466094, 0.5, 0.8535533906, 1, 0.8535533906, 0.5, 0.1464466094},
     {0, 0.1882550991, 0.611260467, 0.950484434, 0.950484434, 0.611260467, 0.1882550991, 0}},
    {{SHOT_WINDOW_HAMMING, 0},
     {0.08, 0.2147308807, 0.54, 0.8652691193, 1, 0.8652691193, 0.54, 0.2147308807},
     {0.08, 0.2531946911, 0.6423596296, 0.9544456792, 0.9544456792, 0.6423596296, 0.2531946911,
      0.08}},
    {{SHOT_WINDOW_BLACKMAN, 0},
     {0, 0.06644660941, 0.34, 0.7735533906, 1, 0.7735533906, 0.34, 0.06644660941},
     {0, 0.09045342435, 0.4591829575, 0.9203636181, 0.9203636181, 0.4591829575, 0.09045342435, 0}},
    {{SHOT_WINDOW_BLACKMAN_HARRIS, 0},
     {6e-05, 0.02173583702, 0.21747, 0.695764163, 1, 0.695764163, 0.21747, 0.02173583702},
     {6e-05, 0.03339172348, 0.3328335043, 0.8893697722, 0.8893697722, 0.3328335043, 0.03339172348,
      6e-05}},
    {{SHOT_WINDOW_KAISER, 5},
     {0.03671089227, 0.2305443341, 0.5528517697, 0.8680171595, 1, 0.8680171595, 0.5528517697,
      0.2305443341},
     {0.03671089227, 0.2706944179, 0.6517382352, 0.9552473165, 0.9552473165, 0.6517382352,
      0.2706944179, 0.03671089227}},
    {{SHOT_WINDOW_TUKEY, 0.5},
     {0, 0.5, 1, 1, 1, 1, 1, 0.5},
     {0, 0.611260467, 1, 1, 1, 1, 0.611260467, 0}},
};
enum { KINDS = sizeof SAMPLES / sizeof *SAMPLES };

static void samples_of_every_window(void **state) {
    for (size_t k = 0; k < KINDS; k++) {
        double w[EIGHT];
        assert_int_equal(shot_window_fill(SAMPLES[k].window, SHOT_WINDOW_PERIODIC, EIGHT, w),
                         SHOT_OK);
        for (size_t i = 0; i < EIGHT; i++)
            assert_close(w[i], SAMPLES[k].periodic[i], 1e-9);
        assert_int_equal(shot_window_fill(SAMPLES[k].window, SHOT_WINDOW_SYMMETRIC, EIGHT, w),
                         SHOT_OK);
        for (size_t i = 0; i < EIGHT; i++)
            assert_close(w[i], SAMPLES[k].symmetric[i], 1e-9);
    }
}

static void a_periodic_window_is_a_longer_symmetric_one_without_its_last(void **state) {
    for (size_t k = 0; k < KINDS; k++)
        for (size_t n = 1; n < 30; n++) {
            double periodic[30], symmetric[31];
            shot_window_fill(SAMPLES[k].window, SHOT_WINDOW_PERIODIC, n, periodic);
            shot_window_fill(SAMPLES[k].window, SHOT_WINDOW_SYMMETRIC, n + 1, symmetric);
            for (size_t i = 0; i < n && n > 1; i++)
                assert_true(periodic[i] == symmetric[i]);
            for (size_t i = 0; i <= n; i++)
                assert_true(symmetric[i] == symmetric[n - i]);
        }
}

typedef struct merit {
    shot_window window;
    double gain, noise, scalloping, process, width3, width6, overlap75, overlap50, sidelobe;
} merit;

/* Harris 1978, Table I, recomputed from the window formulas for n -> infinity with NumPy 1.24.2,
 * because the printed table was made from short windows and rounds to 2 digits. */
static const merit MERITS[] = {
    {{SHOT_WINDOW_RECTANGLE, 0}, 1, 1, 3.922398, 3.922398, 0.884487, 1.204960, 75, 50, -13.261},
    {{SHOT_WINDOW_HANN, 0},
     0.5,
     1.5,
     1.423623,
     3.184535,
     1.438205,
     1.996834,
     65.9155,
     16.6667,
     -31.467},
    {{SHOT_WINDOW_HAMMING, 0},
     0.54,
     1987.0 / 1458,
     1.751431,
     3.095835,
     1.300817,
     1.812306,
     70.6919,
     23.3770,
     -42.675},
    {{SHOT_WINDOW_BLACKMAN, 0},
     0.42,
     1.7267573696,
     1.098879,
     3.471192,
     1.640929,
     2.295040,
     56.6666,
     8.9626,
     -58.109},
    {{SHOT_WINDOW_BLACKMAN_HARRIS, 0},
     0.35875,
     2.0043529382,
     0.825572,
     3.845314,
     1.896241,
     2.661999,
     45.9985,
     3.7602,
     -92.010},
};

static void figures_of_merit_of_harris(void **state) {
    enum { N = 1024 };
    for (size_t k = 0; k < sizeof MERITS / sizeof *MERITS; k++) {
        const merit *m = &MERITS[k];
        double w[N];
        shot_window_figures f;
        shot_window_fill(m->window, SHOT_WINDOW_PERIODIC, N, w);
        assert_int_equal(shot_window_measure(w, N, &f), SHOT_OK);
        assert_rel(f.coherent_gain, m->gain, 1e-12);
        assert_rel(f.noise_bandwidth, m->noise, k == 3 || k == 4 ? 1e-10 : 1e-12); /* as printed */
        /* A window of n samples differs from the limit by the order of 1/n^2 = 1e-6. */
        assert_close(f.scalloping_loss, m->scalloping, 1e-5);
        assert_close(f.process_loss, m->process, 1e-5);
        assert_close(f.width_3db, m->width3, 1e-5);
        assert_close(f.width_6db, m->width6, 1e-5);
        assert_close(f.sidelobe, m->sidelobe, 0.01);
        /* Sums over a segment differ from integrals by the order of 1/n. */
        assert_close(100 * shot_window_overlap_correlation(w, N, N / 4 * 3), m->overlap75, 0.01);
        assert_close(100 * shot_window_overlap_correlation(w, N, N / 2), m->overlap50, 0.01);
    }
}

static void kaisers_design_rules(void **state) {
    assert_close(shot_window_kaiser_beta(60), 5.65326, 1e-12);
    assert_close(shot_window_kaiser_beta(40), 3.39532105226, 1e-11);
    assert_close(shot_window_kaiser_beta(80), 7.85726, 1e-12);
    assert_close(shot_window_kaiser_beta(20), 0, 0);
    /* SciPy 1.10.1 kaiserord(60, 0.1) and (40, 0.2): 74 and 24 samples. */
    assert_close(ceil(shot_window_kaiser_length(60, 0.1 * SHOT_PI)), 74, 0);
    assert_close(ceil(shot_window_kaiser_length(40, 0.2 * SHOT_PI)), 24, 0);
}

/* Highest stop-band response in dB of a 101-sample low-pass of 0.4 of half the sampling rate,
 * beyond the minimum that ends its transition band. */
static double stop_band_of_low_pass(shot_window window) {
    enum { TAPS = 101 };
    double h[TAPS], sum = 0, worst = 0, last = 1;
    shot_window_fill(window, SHOT_WINDOW_SYMMETRIC, TAPS, h);
    for (int i = 0; i < TAPS; i++) {
        const double x = 0.4 * (i - TAPS / 2) * SHOT_PI;
        h[i] *= x == 0 ? 1 : sin(x) / x;
        sum += h[i];
    }
    int in_stop_band = 0;
    for (double f = 0.4; f <= 1; f += 1.0 / 8192) {
        double response = 0;
        for (int i = 0; i < TAPS; i++)
            response += h[i] / sum * cos(SHOT_PI * f * (i - TAPS / 2));
        in_stop_band = in_stop_band || fabs(response) > last;
        last = fabs(response);
        if (in_stop_band)
            worst = fmax(worst, last);
    }
    return 20 * log10(worst);
}

/* Oppenheim & Schafer, 'Discrete-Time Signal Processing', comparison of windows (from memory):
 * -21, -44, -53, -74 dB; a concrete low-pass is within 1.5 dB of these.  Exact: SciPy 1.10.1 firwin
 * and freqz at 2^18 frequencies. */
static void stop_band_of_windowed_low_passes(void **state) {
    assert_close(stop_band_of_low_pass((shot_window){SHOT_WINDOW_RECTANGLE, 0}), -20.982, 0.005);
    assert_close(stop_band_of_low_pass((shot_window){SHOT_WINDOW_HANN, 0}), -43.943, 0.005);
    assert_close(stop_band_of_low_pass((shot_window){SHOT_WINDOW_HAMMING, 0}), -53.858, 0.005);
    assert_close(stop_band_of_low_pass((shot_window){SHOT_WINDOW_BLACKMAN, 0}), -75.293, 0.005);
}

static void continuous_kaiser_window(void **state) {
    double w[9];
    shot_window_fill((shot_window){SHOT_WINDOW_KAISER, 5}, SHOT_WINDOW_SYMMETRIC, 9, w);
    for (int i = 0; i < 9; i++)
        assert_close(shot_window_kaiser_at(5, (i - 4) / 4.0), w[i], 1e-15);
    assert_true(shot_window_kaiser_at(5, 1.0000001) == 0 && shot_window_kaiser_at(5, -2) == 0);
    assert_true(shot_window_kaiser_at(0, 0.9) == 1);
}

static void wrong_windows_are_refused(void **state) {
    double w[4] = {-1, -1, -1, -1};
    shot_window_figures f;
    const shot_window wrong[] = {{SHOT_WINDOW_KAISER, -1},
                                 {SHOT_WINDOW_KAISER, NAN},
                                 {SHOT_WINDOW_TUKEY, 1.5},
                                 {SHOT_WINDOW_TUKEY, NAN},
                                 {(shot_window_kind)99, 0}};
    for (size_t k = 0; k < sizeof wrong / sizeof *wrong; k++)
        assert_int_equal(shot_window_fill(wrong[k], SHOT_WINDOW_PERIODIC, 4, w), SHOT_ERR_RANGE);
    assert_int_equal(shot_window_fill(SAMPLES[0].window, SHOT_WINDOW_PERIODIC, 0, w),
                     SHOT_ERR_RANGE);
    assert_true(w[0] == -1 && w[3] == -1);
    assert_int_equal(shot_window_measure(w, 1, &f), SHOT_ERR_RANGE);
    assert_int_equal(shot_window_measure(w, 4, &f), SHOT_ERR_SINGULAR);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(samples_of_every_window),
        cmocka_unit_test(a_periodic_window_is_a_longer_symmetric_one_without_its_last),
        cmocka_unit_test(figures_of_merit_of_harris),
        cmocka_unit_test(kaisers_design_rules),
        cmocka_unit_test(stop_band_of_windowed_low_passes),
        cmocka_unit_test(continuous_kaiser_window),
        cmocka_unit_test(wrong_windows_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
