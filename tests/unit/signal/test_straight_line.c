/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the line through a stretch, and that its interval covers as it says. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/straight_line.h>

static void a_line_passes_unchanged(void **state) {
    double t[50], y[50];
    for (int i = 0; i < 50; i++) {
        t[i] = 1.7e9 + 0.1 * i; /* an epoch clock */
        y[i] = i == 7 ? NAN : 3 + 0.25 * (t[i] - t[0]);
    }
    shot_straight_line line;
    assert_int_equal(shot_straight_line_fit(t, y, 50, t[0], t[49], &line), SHOT_OK);
    assert_int_equal(line.n, 49);
    assert_close(line.slope, 0.25, 1e-6); /* the clock itself is good to 2e-7 s */
    assert_close(line.level, 3 + 0.25 * (line.centre - t[0]), 1e-6);
}

static void too_few_samples_are_refused(void **state) {
    double t[] = {0, 1, 2, 3}, y[] = {1, NAN, 2, 3};
    shot_straight_line line;
    assert_int_equal(shot_straight_line_fit(t, y, 4, 0, 2, &line), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_straight_line_fit(t, y, 4, 0, 3, &line), SHOT_OK);
}

typedef shot_status (*fitter)(const double *t, const double *y, size_t n, double from, double to,
                              shot_straight_line *out);

/* Noise out of a sensor: an autoregression of coefficient r, and rounding or pick-up `white` beside
 * it, both with the same share of independent draws. */
typedef struct noise {
    double r, white;
} noise;

/* How often, of 1000 series, the 95 % interval of a level of 9 covers it. */
static double coverage(fitter fit, noise kind, size_t n) {
    int hits = 0;
    for (int trial = 0; trial < 1000; trial++) {
        double t[400], y[400];
        shot_random random = shot_random_at(77, (uint64_t)trial);
        double e = shot_random_normal(&random) / sqrt(1 - kind.r * kind.r);
        for (size_t i = 0; i < n; i++) {
            e = kind.r * e + shot_random_normal(&random);
            t[i] = (double)i * 0.1;
            y[i] = 9 + e + kind.white * shot_random_normal(&random);
        }
        shot_straight_line line;
        assert_int_equal(fit(t, y, n, 0, 40, &line), SHOT_OK);
        const double half = shot_straight_line_half_width(&line, line.level_se, 0.95);
        hits += fabs(line.level - 9) <= half;
    }
    return hits / 1000.0;
}

static void has_coverage(fitter fit, noise kind, size_t n, double least, double most) {
    const double got = coverage(fit, kind, n);
    if (!(got > least && got < most))
        fail_msg("r = %g and white %g, %zu samples: %.3f is not in %g to %g", kind.r, kind.white, n,
                 got, least, most);
}

/* 93 to 97.5 % for white noise is three binomial standard errors of 0.7 % about 95 %; from 100
 * samples of an AR(1) of 0.6, where the correlation must be estimated too, over 88 %. */
static void the_interval_covers(void **state) {
    has_coverage(shot_straight_line_fit, (noise){0, 0}, 100, 0.93, 0.975);
    has_coverage(shot_straight_line_fit, (noise){0.6, 0}, 100, 0.88, 0.97);
}

/* Red noise of 0.9 and white noise beside it, for which a first-order autoregression alone is no
 * model; with 60 samples the long run is hardly longer than what it is to be told from. */
static void the_long_run_interval_covers_red_noise(void **state) {
    has_coverage(shot_straight_line_fit_long_run, (noise){0, 0}, 100, 0.92, 0.975);
    has_coverage(shot_straight_line_fit_long_run, (noise){0.6, 0}, 100, 0.92, 0.975);
    has_coverage(shot_straight_line_fit_long_run, (noise){0.9, 0}, 60, 0.91, 0.975);
    has_coverage(shot_straight_line_fit_long_run, (noise){0.9, 0}, 150, 0.92, 0.975);
    has_coverage(shot_straight_line_fit_long_run, (noise){0.9, 0}, 400, 0.93, 0.985);
    has_coverage(shot_straight_line_fit_long_run, (noise){0.9, 0.7}, 400, 0.88, 0.975);
    assert_true(coverage(shot_straight_line_fit, (noise){0.9, 0}, 60) < 0.85);
}

/* What a pump's ripple adds and takes away again says nothing against the mean. */
static void a_ripple_widens_nothing(void **state) {
    double t[400], y[400];
    shot_random random = shot_random_at(78, 0);
    for (int i = 0; i < 400; i++) {
        t[i] = 0.02 * i;
        y[i] =
            9 + 0.5 * sin(2 * 3.14159265358979 * 7.3 * t[i]) + 0.01 * shot_random_normal(&random);
    }
    shot_straight_line usual, line;
    assert_int_equal(shot_straight_line_fit(t, y, 400, 0, 8, &usual), SHOT_OK);
    assert_int_equal(shot_straight_line_fit_long_run(t, y, 400, 0, 8, &line), SHOT_OK);
    assert_close(line.level, usual.level, 0);
    assert_close(line.slope, usual.slope, 0);
    assert_true(line.level_se < 0.3 * usual.level_se);
    assert_true(fabs(line.level - 9) < shot_straight_line_half_width(&line, line.level_se, 0.999));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_passes_unchanged),
        cmocka_unit_test(too_few_samples_are_refused),
        cmocka_unit_test(the_interval_covers),
        cmocka_unit_test(the_long_run_interval_covers_red_noise),
        cmocka_unit_test(a_ripple_widens_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
