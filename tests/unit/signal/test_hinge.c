/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a break shows its whole change at every width, a bend of constant curvature one that
 * grows with the width, and the standard error is that of the formula. */
#include <support/check.h>

#include "signal/hinge.h"

#include <shottrace/signal/random.h>

enum { N = 401, MIDDLE = 200 };
static const double RATE = 100;

/* The change at the middle of y(t), seen from `reach` seconds. */
static hinge seen(const double *y, double reach) {
    double t[N];
    for (int i = 0; i < N; i++)
        t[i] = i / RATE;
    line_sums *sums;
    assert_int_equal(line_sums_new(t, y, NULL, N, &sums), SHOT_OK);
    size_t half = (size_t)(reach * RATE + 0.5);
    hinge h = hinge_fit(sums, MIDDLE - half, MIDDLE, MIDDLE + half + 1, sums->x[MIDDLE]);
    line_sums_free(sums);
    return h;
}

/* 1e-9: sums of squares of order 400 lose 1e-13, and a window of 0.1 s magnifies by 1/h^2. */
static void a_break_is_the_same_at_every_width(void **state) {
    double y[N];
    for (int i = 0; i < N; i++)
        y[i] = 3 - 0.7 * i / RATE + 2.5 * fmax(0, (i - MIDDLE) / RATE);
    for (double reach = 0.1; reach <= 2; reach *= 2)
        assert_close(seen(y, reach).change, 2.5, 1e-9);
}

/* The bell has the area h (docs/knees.md): curvature 2 gives 2 h on a fine grid.  2 m + 1 samples
 * stand for a window longer by half a spacing at either end, 1/(2 m) of h. */
static void a_bend_grows_with_the_width(void **state) {
    double y[N];
    for (int i = 0; i < N; i++)
        y[i] = (i / RATE) * (i / RATE);
    for (double reach = 0.25; reach <= 2; reach *= 2)
        assert_rel(seen(y, reach).change, 2 * reach, 0.5 / (RATE * reach));
}

/* sqrt(24 / (h^3 f)) for many samples; 2 % for the ends of a window of 100.  And 2000 draws: the SD
 * of an SD is 1.6 %, three of them 5 %. */
static void the_standard_error_is_that_of_the_formula(void **state) {
    double y[N] = {0}, squares = 0;
    hinge exact = seen(y, 0.5);
    assert_rel(exact.se, sqrt(24 / (0.125 * RATE)), 0.02);
    shot_random random = shot_random_at(71, 0);
    for (int draw = 0; draw < 2000; draw++) {
        for (int i = MIDDLE - 60; i < MIDDLE + 60; i++)
            y[i] = shot_random_normal(&random);
        double c = seen(y, 0.5).change;
        squares += c * c;
    }
    assert_rel(sqrt(squares / 2000), exact.se, 0.05);
}

static void too_few_samples_have_no_change(void **state) {
    const double t[] = {0, 1, 2}, y[] = {0, 1, 0};
    line_sums *sums;
    assert_int_equal(line_sums_new(t, y, NULL, 3, &sums), SHOT_OK);
    hinge h = hinge_fit(sums, 0, 1, 3, sums->x[1]);
    assert_true(h.change == 0 && isinf(h.se));
    line_sums_free(sums);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_break_is_the_same_at_every_width),
        cmocka_unit_test(a_bend_grows_with_the_width),
        cmocka_unit_test(the_standard_error_is_that_of_the_formula),
        cmocka_unit_test(too_few_samples_have_no_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
