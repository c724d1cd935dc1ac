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

/* 1000 series of 100 samples: the 95 % interval covers in 93 to 97 % of them for white noise
 * (three binomial standard errors of 0.7 % about 95 %), and in over 88 % for an AR(1) of 0.6, where
 * the correlation must be estimated from as few samples. */
static double coverage(double r) {
    int hits = 0;
    for (int trial = 0; trial < 1000; trial++) {
        double t[100], y[100], e = 0;
        shot_random random = shot_random_at(77, (uint64_t)trial);
        for (int i = 0; i < 100; i++) {
            e = r * e + shot_random_normal(&random);
            t[i] = i * 0.1;
            y[i] = 9 + e;
        }
        shot_straight_line line;
        assert_int_equal(shot_straight_line_fit(t, y, 100, 0, 10, &line), SHOT_OK);
        double half = shot_straight_line_half_width(&line, line.level_se, 0.95);
        hits += fabs(line.level - 9) <= half;
    }
    return hits / 1000.0;
}

static void the_interval_covers(void **state) {
    double white = coverage(0), correlated = coverage(0.6);
    assert_true(white > 0.93 && white < 0.975);
    assert_true(correlated > 0.88 && correlated < 0.97);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_passes_unchanged),
        cmocka_unit_test(too_few_samples_are_refused),
        cmocka_unit_test(the_interval_covers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
