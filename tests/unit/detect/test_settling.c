/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a channel that settles at another level is described by its own curve, also as a meter
 * shows it that counts over a gate, and the knee of that curve lies where it is defined. */
#include <support/check.h>

#include <math.h>
#include <stdlib.h>

#include "detect/settling.h"

enum { N = 81 };

/* 8 until 2.03 s, then exponentially to 3 with T = 0.7 s (shape 3), as its mean over the gate. */
static void draw(double gate, double *t, double *x) {
    for (int i = 0; i < N; i++) {
        double sum = 0;
        t[i] = 0.07 * i;
        for (int k = 0; k < 200; k++) {
            const double u = t[i] - 2.03 - gate * (k + 0.5) / 200;
            sum += u > 0 ? -expm1(-u / 0.7) / 200 : 0;
        }
        x[i] = 8 - 5 * sum;
    }
}

/* Exact but for the interpolation of curves by 0.01 s, 1e-4 of the step, and, with a gate, for
 * Simpson's rule: across the break it is off by a few hundredths. */
static void the_true_curve_fits(void **state) {
    const double gates[] = {0, 0.6}, within[] = {1e-3, 0.1};
    settling_curves *plain = malloc(2 * sizeof *plain), *curves = plain + 1;
    assert_non_null(plain);
    settling_curves_fill(plain);
    for (int g = 0; g < 2; g++) {
        double t[N], x[N];
        draw(gates[g], t, x);
        settling_curves_over_gate(plain, gates[g], curves);
        const settling_fit fit = settling_fit_at(curves, 3, t, x, N, 2.03);
        assert_close(fit.before, 8, within[g]);
        assert_close(fit.step, -5, within[g]);
        assert_true(sqrt(fit.squares / N) < within[g]);
        assert_true(settling_fit_at(curves, 3, t, x, N, 2.23).squares > 2 * fit.squares);
        assert_true(settling_fit_at(curves, 3, t, x, N, 1.83).squares > 2 * fit.squares);
    }
    free(plain);
}

/* Alternating noise upon a fitted level echoes at -1, less what the ends take. */
static void residuals_echo(void **state) {
    double t[N], x[N];
    settling_curves *curves = malloc(sizeof *curves);
    assert_non_null(curves);
    draw(0, t, x);
    for (int i = 0; i < N; i++)
        x[i] += i % 2 ? 0.1 : -0.1;
    settling_curves_fill(curves);
    const settling_fit fit = settling_fit_at(curves, 3, t, x, N, 2.03);
    assert_close(settling_echo(curves, 3, t, x, N, 2.03, &fit), -1, 0.05);
    free(curves);
}

/* An exponential breaks at its start.  exp(-(u/T)^2) bends most where its window begins to leave
 * the level: at h of a much longer T. */
static void the_knee_is_where_slopes_differ_most(void **state) {
    assert_close(settling_centre(4, 0.2), 0, 0.011);
    assert_close(settling_centre(2 * SETTLING_TIMES + 7, 0.2), 0.2, 0.011);
}

static void what_cannot_be_told_is_said(void **state) {
    double t[] = {0, 1, 2, 3, 4}, x[] = {5, 5, 5, 4, 3};
    settling_curves *curves = malloc(sizeof *curves);
    assert_non_null(curves);
    settling_curves_fill(curves);
    assert_true(isinf(settling_fit_at(curves, 0, t, x, 4, 1).squares));  /* too few */
    assert_true(isinf(settling_fit_at(curves, 0, t, x, 5, -1).squares)); /* no level before */
    assert_true(isinf(settling_fit_at(curves, 0, t, x, 5, 9).squares));  /* none behind */
    free(curves);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_true_curve_fits),
        cmocka_unit_test(residuals_echo),
        cmocka_unit_test(the_knee_is_where_slopes_differ_most),
        cmocka_unit_test(what_cannot_be_told_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
