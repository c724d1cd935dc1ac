/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: coefficient and sum of squares are those of a general least-squares fit (Householder
 * QR) of the same columns, with and without slope and known level, on even and uneven times far
 * from 0; where the samples do not fix the curve it says so. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/random.h>

#include "signal/power_fit.h"

enum { MOST = 60 };

typedef struct series {
    size_t n;
    double t[MOST], y[MOST], level, weight;
    bool sloped;
} series;

static series draw(shot_random *random, bool sloped, bool known) {
    series s = {.n = 8 + (size_t)shot_random_below(random, MOST - 8), .sloped = sloped};
    double now = shot_random_between(random, 0, 1e4);
    for (size_t i = 0; i < s.n; i++) {
        s.t[i] = now += shot_random_between(random, 0.01, 0.2);
        s.y[i] = 5 + 3 * shot_random_normal(random);
    }
    s.level = known ? 4 : 0;
    s.weight = known ? shot_random_between(random, 0.01, 100) : 0;
    return s;
}

/* The same by the general fit: c and the sum of squares. */
static bool general(const series *s, double t0, int power, double *c, double *squares) {
    const size_t rows = s->n + (s->weight > 0), columns = s->sloped ? 3 : 2;
    double a[3 * (MOST + 1)] = {0}, b[MOST + 1], x[3], work[4 * (MOST + 1) + 6];
    shot_least_squares fit;
    for (size_t i = 0; i < s->n; i++) {
        const double u = s->t[i] - t0;
        a[i] = 1;
        a[rows + i] = u > 0 ? pow(u, power) : 0;
        if (s->sloped)
            a[2 * rows + i] = u;
        b[i] = s->y[i];
    }
    if (s->weight > 0) {
        a[s->n] = sqrt(s->weight);
        b[s->n] = sqrt(s->weight) * s->level;
    }
    if (shot_least_squares_fit(a, b, rows, columns, work, x, NULL, &fit) != SHOT_OK)
        return false;
    *c = x[1];
    *squares = fit.sum_of_squares;
    return true;
}

/* 1e-7: the normal equations square the condition of columns that are nearly alike (a power and the
 * slope, where most samples lie behind t0), some thousands, of 1e-16 each. */
static void agrees_with_a_general_fit(void **state) {
    shot_random random = shot_random_at(78, 1);
    int compared = 0;
    for (int trial = 0; trial < 400; trial++) {
        series s = draw(&random, trial % 2, trial % 4 > 1);
        double work[4 * MOST], c, squares, wanted_c = NAN, wanted = NAN;
        power_fit fit;
        assert_int_equal(power_fit_workspace(s.n), 4 * s.n);
        power_fit_begin(&fit, s.t, s.y, s.n, s.sloped, work);
        if (s.weight > 0)
            power_fit_level(&fit, s.level, s.weight);
        for (int place = 0; place < 5; place++) {
            const size_t i = (size_t)shot_random_below(&random, s.n - 5);
            const double t0 = s.t[i] + 0.005;
            power_fit_at(&fit, t0);
            for (int power = 1; power <= 3; power++) {
                assert_true(power_fit_next(&fit, &c, &squares));
                assert_true(general(&s, t0, power, &wanted_c, &wanted));
                assert_close(c, wanted_c, 1e-7 * fmax(1, fabs(wanted_c)));
                assert_close(squares, wanted, 1e-7 * wanted);
                compared++;
            }
        }
    }
    assert_int_equal(compared, 6000);
}

/* An exact curve leaves nothing, to rounding. */
static void an_exact_curve_leaves_nothing(void **state) {
    double t[40], y[40], work[4 * 40], c, squares;
    power_fit fit;
    for (int i = 0; i < 40; i++) {
        t[i] = 100 + 0.1 * i;
        y[i] = 2 + (t[i] > 101.5 ? 3 * (t[i] - 101.5) * (t[i] - 101.5) : 0);
    }
    power_fit_begin(&fit, t, y, 40, true, work);
    power_fit_at(&fit, 101.5);
    assert_true(power_fit_next(&fit, &c, &squares));
    assert_true(squares > 0.1);
    assert_true(power_fit_next(&fit, &c, &squares));
    assert_close(c, 3, 1e-10);
    assert_true(squares < 1e-20);
}

static void says_where_nothing_is_fixed(void **state) {
    const double t[] = {1, 2, 3, 4, 5}, y[] = {1, 1, 1, 1, 1};
    double work[20], c, squares;
    power_fit fit;
    power_fit_begin(&fit, t, y, 5, false, work);
    power_fit_at(&fit, 5); /* no sample behind it */
    assert_false(power_fit_next(&fit, &c, &squares));
    power_fit_begin(&fit, t, y, 5, true, work);
    power_fit_at(&fit, 0.5); /* the slope and the first power are one */
    assert_false(power_fit_next(&fit, &c, &squares));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_a_general_fit),
        cmocka_unit_test(an_exact_curve_leaves_nothing),
        cmocka_unit_test(says_where_nothing_is_fixed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
