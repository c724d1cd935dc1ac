/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: densities that agree between even and uneven times and with Welch's estimate, tones and
 * noise of known density, segments that are left out, and clocks that round. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/segment_spectra.h>
#include <shottrace/signal/welch.h>

#include "signal/pi.h"

enum { N = 2000 };
static double t[N], y[N];

static void fill(double jitter, double sd, double amplitude, double frequency) {
    shot_random random = shot_random_at(13, (uint64_t)(100 * jitter));
    for (size_t i = 0; i < N; i++) {
        t[i] = 5 + 0.1 * ((double)i + jitter * shot_random_between(&random, -1, 1));
        y[i] =
            9 + sd * shot_random_normal(&random) + amplitude * cos(2 * SHOT_PI * frequency * t[i]);
    }
}

static double mean_at(const shot_segment_spectra *s, size_t k) {
    double sum = 0;
    for (size_t j = 0; j < s->segments; j++)
        sum += s->power[j * s->bins + k] / (double)s->segments;
    return sum;
}

static void an_even_grid_gives_welchs_estimate(void **state) {
    shot_segment_spectra s;
    double psd[33];
    size_t segments;
    fill(0, 1, 0.5, 1.3);
    const shot_welch_settings settings = {.segment = 64,
                                          .overlap = 32,
                                          .window = {SHOT_WINDOW_HANN, 0},
                                          .detrend = SHOT_DETREND_LINE};
    assert_int_equal(shot_segment_spectra_find(t, y, N, 6.4, &s), SHOT_OK);
    assert_int_equal(shot_welch(y, N, 10, &settings, psd, &segments), SHOT_OK);
    assert_true(s.even);
    assert_close(s.rate, 10, 1e-9);
    assert_int_equal(s.segments, segments);
    assert_int_equal(s.bins, 31);
    for (size_t k = 0; k < s.bins; k++) {
        assert_rel(s.frequency[k], (double)(k + 1) / 6.4, 1e-12);
        assert_rel(mean_at(&s, k), psd[k + 1], 1e-9);
    }
    shot_segment_spectra_free(&s);
}

/* White noise of variance 1 at 10 Hz has a density of 0.2 a Hz: mean over 31 bins and 61 segments,
 * which scatters by 1/sqrt(31 * 61 / 1.5 / 1.06) = 2.9 % (Hann bins and segments are correlated);
 * 4 times that. */
static void white_noise_has_its_density(void **state) {
    const double jitter[] = {0, 0.3};
    for (int u = 0; u < 2; u++) {
        shot_segment_spectra s;
        double mean = 0;
        fill(jitter[u], 1, 0, 0);
        assert_int_equal(shot_segment_spectra_find(t, y, N, 6.4, &s), SHOT_OK);
        assert_int_equal(s.even, u == 0);
        for (size_t k = 3; k < s.bins; k++)
            mean += mean_at(&s, k) / (double)(s.bins - 3);
        assert_rel(mean, 0.2, 0.12);
        assert_close(s.freedom, 36.0 * 61 * 61 / (19 * 61 - 1), s.segments == 61 ? 1e-9 : 4);
        shot_segment_spectra_free(&s);
    }
}

/* A tone of amplitude A in a Hann window: density A^2/2 / (1.5 bins) at its frequency. */
static void a_tone_has_its_power(void **state) {
    const double jitter[] = {0, 0.3};
    for (int u = 0; u < 2; u++) {
        double power;
        fill(jitter[u], 0, 0.5, 1.37);
        assert_int_equal(shot_segment_power(t, y, N, 50, 6.4, 1.37, &power), SHOT_OK);
        /* the straight line takes a little of 8.8 cycles; uneven sampling lets weights vary */
        assert_rel(power, 0.125 * 6.4 / 1.5, u == 0 ? 0.02 : 0.1);
    }
}

/* A clock that writes milliseconds puts a pattern on a grid of 97.8 Hz; it is even all the same. */
static void a_rounding_clock_is_even(void **state) {
    shot_segment_spectra s;
    for (size_t i = 0; i < N; i++) {
        t[i] = round(1e3 * (double)i / 97.8) / 1e3;
        y[i] = sin(t[i]);
    }
    assert_int_equal(shot_segment_spectra_find(t, y, N, 3, &s), SHOT_OK);
    assert_true(s.even);
    assert_close(s.rate, 97.8, 0.01);
    shot_segment_spectra_free(&s);
    t[N / 2] += 0.003;
    assert_int_equal(shot_segment_spectra_find(t, y, N, 3, &s), SHOT_OK);
    assert_false(s.even);
    shot_segment_spectra_free(&s);
}

static void a_segment_with_a_hole_is_left_out(void **state) {
    shot_segment_spectra whole, holed;
    size_t n = 0;
    fill(0, 1, 0, 0);
    assert_int_equal(shot_segment_spectra_find(t, y, N, 6.4, &whole), SHOT_OK);
    for (size_t i = 0; i < N; i++)
        if (i < 1000 || i >= 1100) {
            t[n] = t[i];
            y[n++] = y[i];
        }
    assert_int_equal(shot_segment_spectra_find(t, y, n, 6.4, &holed), SHOT_OK);
    assert_false(holed.even);
    /* 100 samples spoil the segments that they fill by 30 %: those that begin 64 - 19 before them
     * up to 100 - 19 after their start, every 32 */
    assert_int_equal(whole.segments - holed.segments, 4);
    for (size_t j = 0; j < holed.segments; j++)
        assert_true(holed.from[j] < 105 - 4.5 || holed.from[j] > 105 + 8);
    shot_segment_spectra_free(&whole);
    shot_segment_spectra_free(&holed);
}

/* 37.3 Hz through uneven samples at 10 Hz: the highest bin of a band above half the rate. */
static void uneven_times_tell_a_frequency_from_its_images(void **state) {
    shot_segment_spectra s;
    fill(0.3, 0.1, 0.5, 37.3);
    assert_int_equal(shot_segment_spectra_near(t, y, N, 6.4, 30, 45, &s), SHOT_OK);
    size_t best = 0;
    for (size_t k = 0; k < s.bins; k++)
        best = mean_at(&s, k) > mean_at(&s, best) ? k : best;
    assert_true(s.frequency[0] >= 30 && s.frequency[s.bins - 1] <= 45);
    assert_close(s.frequency[best], 37.3, 0.5 / 6.4);
    assert_rel(mean_at(&s, best), 0.125 * 6.4 / 1.5, 0.35); /* up to 1.4 dB lost between bins */
    shot_segment_spectra_free(&s);
    fill(0, 0.1, 0.5, 37.3);
    assert_int_equal(shot_segment_spectra_near(t, y, N, 6.4, 30, 45, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_segment_spectra_near(t, y, N, 6.4, 45, 30, &s), SHOT_ERR_RANGE);
    assert_null(s.power);
}

/* A quarter turn at the middle of the segment, and its change with time. */
static void a_phase_is_that_in_the_middle(void **state) {
    double phase;
    fill(0, 0, 0.5, 1.25); /* a cosine of t: a sine a quarter turn further */
    assert_int_equal(shot_segment_phase(t, y, N, 50, 6.4, 1.25, &phase), SHOT_OK);
    const double turns = 1.25 * 53.2 + 0.25;
    assert_close(phase, turns - floor(turns), 1e-3);
    assert_int_equal(shot_segment_phase(t, y, N, 500, 6.4, 1.25, &phase), SHOT_ERR_SINGULAR);
}

static void wrong_arguments_are_refused(void **state) {
    shot_segment_spectra s;
    fill(0, 1, 0, 0);
    assert_int_equal(shot_segment_spectra_find(t, y, N, 0.5, &s), SHOT_ERR_RANGE);
    assert_int_equal(shot_segment_spectra_find(t, y, N, NAN, &s), SHOT_ERR_RANGE);
    assert_int_equal(shot_segment_spectra_find(t, y, N, 300, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_segment_spectra_find(t, y, 7, 0.8, &s), SHOT_ERR_SINGULAR);
    y[3] = NAN;
    assert_int_equal(shot_segment_spectra_find(t, y, N, 6.4, &s), SHOT_ERR_RANGE);
    assert_null(s.power);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_even_grid_gives_welchs_estimate),
        cmocka_unit_test(white_noise_has_its_density),
        cmocka_unit_test(a_tone_has_its_power),
        cmocka_unit_test(a_rounding_clock_is_even),
        cmocka_unit_test(a_segment_with_a_hole_is_left_out),
        cmocka_unit_test(uneven_times_tell_a_frequency_from_its_images),
        cmocka_unit_test(a_phase_is_that_in_the_middle),
        cmocka_unit_test(wrong_arguments_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
