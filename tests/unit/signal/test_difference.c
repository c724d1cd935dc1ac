/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: difference weights on any grid are the published ones and exact for polynomials; the
 * gradient of a series on uneven times. */
#include <support/check.h>

#include <shottrace/signal/difference.h>
#include <shottrace/signal/random.h>

/* Fornberg 1988, Math. Comp. 51:699-706, tables 1 and 3. */
static void weights_are_the_published_ones(void **state) {
    static const struct {
        size_t points, derivative;
        double at, weight[7];
    } known[] = {
        {3, 1, 1, {-1.0 / 2, 0, 1.0 / 2}},
        {5, 1, 2, {1.0 / 12, -2.0 / 3, 0, 2.0 / 3, -1.0 / 12}},
        {7, 1, 3, {-1.0 / 60, 3.0 / 20, -3.0 / 4, 0, 3.0 / 4, -3.0 / 20, 1.0 / 60}},
        {3, 2, 1, {1, -2, 1}},
        {5, 2, 2, {-1.0 / 12, 4.0 / 3, -5.0 / 2, 4.0 / 3, -1.0 / 12}},
        {2, 1, 0, {-1, 1}},
        {3, 1, 0, {-3.0 / 2, 2, -1.0 / 2}},
        {4, 1, 0, {-11.0 / 6, 3, -3.0 / 2, 1.0 / 3}},
        {3, 2, 0, {1, -2, 1}},
        {4, 2, 0, {2, -5, 4, -1}},
    };
    const double x[] = {0, 1, 2, 3, 4, 5, 6};
    double w[3 * 7];
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
        const size_t n = known[k].points;
        assert_int_equal(shot_difference_weights(x, n, known[k].at, 2, w), SHOT_OK);
        for (size_t i = 0; i < n; i++)
            assert_close(w[known[k].derivative * n + i], known[k].weight[i], 1e-14);
    }
}

/* Exact for every polynomial through the points, at a place off the grid, the points falling.
 * Rounding grows with the weights. */
static void exact_for_polynomials_on_uneven_points(void **state) {
    shot_random random = shot_random_at(4, 4);
    for (int trial = 0; trial < 200; trial++) {
        const size_t n = 1 + (size_t)shot_random_below(&random, 6);
        double x[6], w[4 * 6], at = shot_random_between(&random, -1, 6);
        for (size_t i = 0; i < n; i++)
            x[n - 1 - i] = (double)i + shot_random_between(&random, 0, 0.5);
        assert_int_equal(shot_difference_weights(x, n, at, 3, w), SHOT_OK);
        for (size_t power = 0; power < n; power++) {
            double factor = 1;
            for (size_t d = 0; d <= 3; d++) {
                double sum = 0, size = 0;
                for (size_t i = 0; i < n; i++) {
                    const double term = w[d * n + i] * pow(x[i] - at, (double)power);
                    sum += term;
                    size += fabs(term);
                }
                factor *= d > 0 ? (double)d : 1;
                assert_close(sum, d == power ? factor : 0, 1e-13 * fmax(1, size));
            }
        }
    }
}

/* The documented example of numpy.gradient (second order inside, edge_order 1 and 2); numpy 1.24.2.
 * The formula is that of Quarteroni, Sacco & Saleri 2007, 'Numerical mathematics'. */
static void gradient_is_that_of_the_worked_example(void **state) {
    const double y[] = {1, 2, 4, 7, 11, 16};
    const double unit[] = {0, 1, 2, 3, 4, 5}, twice[] = {0, 2, 4, 6, 8, 10};
    const double uneven[] = {0, 1, 1.5, 3.5, 4, 6};
    const struct {
        const double *t;
        int curved;
        double slope[6];
    } known[] = {
        {unit, 0, {1, 1.5, 2.5, 3.5, 4.5, 5}},
        {twice, 0, {0.5, 0.75, 1.25, 1.75, 2.25, 2.5}},
        {uneven, 0, {1, 3, 3.5, 6.7, 6.9, 2.5}},
        {uneven, 1, {-1, 3, 3.5, 6.7, 6.9, -1.9}},
    };
    for (size_t k = 0; k < 4; k++) {
        double slope[6];
        assert_int_equal(shot_difference_gradient(known[k].t, y, 6, known[k].curved, slope),
                         SHOT_OK);
        for (size_t i = 0; i < 6; i++)
            assert_close(slope[i], known[k].slope[i], 1e-12);
    }
}

static void missing_samples_spread_to_their_neighbours_only(void **state) {
    const double t[] = {0, 1, 2, 3, 4}, y[] = {0, 1, 2, NAN, 4};
    double slope[5];
    assert_int_equal(shot_difference_gradient(t, y, 5, 0, slope), SHOT_OK);
    assert_true(slope[0] == 1 && slope[1] == 1);
    assert_true(isnan(slope[2]) && isnan(slope[3]) && isnan(slope[4]));
}

static void bad_grids_are_refused(void **state) {
    const double same[] = {1, 2, 1}, y[] = {1, 2, 3};
    double w[9], slope[3];
    assert_int_equal(shot_difference_weights(same, 3, 0, 1, w), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_difference_weights(same, 0, 0, 1, w), SHOT_ERR_RANGE);
    assert_int_equal(shot_difference_gradient(same, y, 3, 0, slope), SHOT_ERR_DATA);
    assert_int_equal(shot_difference_gradient(same, y, 1, 0, slope), SHOT_ERR_RANGE);
    assert_int_equal(shot_difference_gradient(same, y, 2, 1, slope), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_are_the_published_ones),
        cmocka_unit_test(exact_for_polynomials_on_uneven_points),
        cmocka_unit_test(gradient_is_that_of_the_worked_example),
        cmocka_unit_test(missing_samples_spread_to_their_neighbours_only),
        cmocka_unit_test(bad_grids_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
