/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a channel that settles at another level is described by its own curve, also as a meter
 * shows it that counts over a gate, and a jet by what the room behind it does. */
#include <support/check.h>

#include <math.h>
#include <stdlib.h>

#include "detect/settling.h"

enum { N = 81 };

static const settling_jet jet = {8, 0.4};

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

/* Exact but for the interpolation of curves by 0.01 s, 1e-4 of the step, and, with a gate, for the
 * 200 parts of the mean that is drawn here, 2e-3 of it. */
static void the_true_curve_fits(void **state) {
    const double gates[] = {0, 0.6}, within[] = {1e-3, 1e-2};
    settling_curves *plain = malloc(2 * sizeof *plain), *curves = plain + 1;
    assert_non_null(plain);
    settling_curves_fill(&jet, plain);
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
    settling_curves_fill(&jet, curves);
    const settling_fit fit = settling_fit_at(curves, 3, t, x, N, 2.03);
    assert_close(settling_echo(curves, 3, t, x, N, 2.03, &fit), -1, 0.05);
    free(curves);
}

/* The time at which the room has x of the pressure, by quadrature of dt/dx. */
static double time_of(const settling_jet *one, double air, double give, double x) {
    const double bed = one->settled / (1 - one->settled * one->settled);
    double sum = 0;
    for (int i = 0; i < 20000; i++) {
        const double at = x * (i + 0.5) / 20000, squeezed = 1 + one->b * at;
        sum += (give + air * one->b / (squeezed * squeezed)) / (sqrt(1 - at) - bed * at);
    }
    return sum * x / 20000;
}

static double jet_at(const settling_curves *curves, int shape, double u, double settled) {
    const int i = (int)(u / SETTLING_STEP);
    const double part = u / SETTLING_STEP - i, *share = curves->share[shape];
    return 1 - (1 - settled) * (share[i] + part * (share[i + 1] - share[i]));
}

/* What a curve says of the jet, sqrt(1 - x), is so at the time at which the room has x.  A straight
 * line over 0.01 s of a curve that bends within 0.05 s is off by (0.01 / 0.05)^2 / 8 = 5e-3, the
 * midpoint rule by less. */
static void a_jet_fills_the_room_behind_it(void **state) {
    const settling_jet jets[] = {jet, {8, 0.05}, {3, 0.75}};
    const double airs[] = {0, 0.48, 1.92}, gives[] = {0.05, 0.4};
    const int air_at[] = {0, 5, 9}, give_at[] = {0, 2};
    settling_curves *curves = malloc(sizeof *curves);
    assert_non_null(curves);
    for (int j = 0; j < 3; j++) {
        settling_curves_fill(&jets[j], curves);
        const double end = 1 - jets[j].settled * jets[j].settled;
        for (int k = 0; k < 6; k++)
            for (double part = 0.1; part < 0.95; part += 0.2) {
                const double x = part * end, air = airs[k / 2], give = gives[k % 2];
                const double u = time_of(&jets[j], air, give, x);
                const int shape = SETTLING_LAGS + give_at[k % 2] * SETTLING_AIRS + air_at[k / 2];
                assert_close(jet_at(curves, shape, u, jets[j].settled), sqrt(1 - x), 1e-2);
            }
    }
    free(curves);
}

static void what_cannot_be_told_is_said(void **state) {
    double t[] = {0, 1, 2, 3, 4}, x[] = {5, 5, 5, 4, 3};
    settling_curves *curves = malloc(sizeof *curves);
    assert_non_null(curves);
    settling_curves_fill(&jet, curves);
    assert_true(isinf(settling_fit_at(curves, 0, t, x, 4, 1).squares));  /* too few */
    assert_true(isinf(settling_fit_at(curves, 0, t, x, 5, -1).squares)); /* no level before */
    assert_true(isinf(settling_fit_at(curves, 0, t, x, 5, 9).squares));  /* none behind */
    free(curves);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_true_curve_fits),
        cmocka_unit_test(residuals_echo),
        cmocka_unit_test(a_jet_fills_the_room_behind_it),
        cmocka_unit_test(what_cannot_be_told_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
