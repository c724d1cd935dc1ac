/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The yardstick that intervals are held against. */
#include <support/check.h>

#include <math.h>

#include "support/ideal.h"

enum { POINTS = 4001, ROWS = 401 };

static double fine[POINTS], logged[ROWS], times[ROWS];

/* Two lines that meet at 10 s, sampled every 0.05 s. */
static ideal_curves bend(double change, double noise) {
    for (int i = 0; i < POINTS; i++)
        fine[i] = 3 + 0.5 * (0.005 * i - 10) + change * fmax(0.005 * i - 10, 0);
    for (int i = 0; i < ROWS; i++) {
        times[i] = 0.05 * i;
        logged[i] = 0;
    }
    return (ideal_curves){.step = 0.005,
                          .count = POINTS,
                          .channels = 1,
                          .curve = {fine},
                          .logged = {logged},
                          .noise = {noise}};
}

/* A line fitted to n samples is known at its end with the variance 4 s^2 / n (Draper & Smith,
 * "Applied Regression Analysis", sec. 1.4, for many samples); the gap between two of them there, 8
 * s^2 / n, moves the place where they meet by its share of the change of slope. */
static void the_corner_of_two_lines_has_the_textbook_bound(void **state) {
    const ideal_curves curves = bend(2, 0.5);
    const double n = 20; /* samples within 1 s on one side */
    const double sd = 0.5 / 2 * sqrt(8 / n);
    /* finite n: the exact sums differ from the limit by a few shares of 1/n */
    assert_close(ideal_width(&curves, times, ROWS, 10), 2 * 1.96 * sd, 0.1 * 2 * 1.96 * sd);
}

/* Twice the noise, twice the width; twice the bend, half of it. */
static void the_bound_scales_with_noise_and_bend(void **state) {
    ideal_curves curves = bend(2, 0.5);
    const double one = ideal_width(&curves, times, ROWS, 10);
    curves = bend(2, 1);
    assert_close(ideal_width(&curves, times, ROWS, 10), 2 * one, 1e-9);
    curves = bend(4, 0.5);
    assert_close(ideal_width(&curves, times, ROWS, 10), one / 2, 1e-9);
}

/* Hardly any noise: the time between two samples is left. */
static void nothing_is_known_between_two_samples(void **state) {
    const ideal_curves curves = bend(2, 1e-9);
    assert_close(ideal_width(&curves, times, ROWS, 10.02), 0.95 * 0.05, 1e-9);
}

/* A straight line shows no event. */
static void a_line_shows_nothing(void **state) {
    const ideal_curves curves = bend(0, 0.1);
    assert_true(ideal_width(&curves, times, ROWS, 10) > 1e3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_corner_of_two_lines_has_the_textbook_bound),
        cmocka_unit_test(the_bound_scales_with_noise_and_bend),
        cmocka_unit_test(nothing_is_known_between_two_samples),
        cmocka_unit_test(a_line_shows_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
