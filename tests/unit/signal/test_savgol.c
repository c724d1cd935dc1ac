/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: Savitzky-Golay weights are the published ones (centre, ends, one-sided), keep the
 * moments that define them, and stand for the cut-off frequency that the header promises. */
#include <support/check.h>

#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/savgol.h>
#include <unit/signal/savgol_tables.h>

/* QR in double reaches 2e-15 on centred abscissae up to 25 points and order 6. */
static const double EXACT = 1e-14;

static void check_row(const savgol_row *row, size_t order) {
    const size_t half = row->points / 2;
    const shot_savgol shape = {
        .left = half, .right = half, .order = order, .derivative = row->derivative};
    double w[25];
    assert_int_equal(shot_savgol_weights(&shape, w), SHOT_OK);
    for (size_t i = 0; i <= half; i++) {
        const double sign = row->derivative % 2 ? -1 : 1;
        assert_close(w[half + i], row->weight[i] / row->norm, EXACT * fmax(1, fabs(w[half + i])));
        assert_close(w[half - i], sign * w[half + i], EXACT * fmax(1, fabs(w[half + i])));
    }
    assert_rel(shot_savgol_gain(w, row->points), row->gain[0] / row->gain[1], 1e-13);
}

static void weights_are_the_published_ones(void **state) {
    for (size_t i = 0; i < sizeof savgol_rows / sizeof *savgol_rows; i++) {
        const savgol_row *row = &savgol_rows[i];
        check_row(row, row->order);
        if (row->order + 1 < row->points)
            check_row(row, row->order + 1);
    }
}

/* sum of i^power w_i, and what an error of 1 in every weight would make of it. */
static double moment_of(const double *w, size_t half, size_t power, double *size) {
    double moment = 0;
    *size = 0;
    for (size_t i = 0; i <= 2 * half; i++) {
        const double lever = pow((double)i - (double)half, (double)power);
        moment += lever * w[i];
        *size += fabs(lever);
    }
    return moment;
}

static void check_moments(const shot_savgol *shape) {
    double w[81], factorial = 1, largest = 0, size;
    assert_int_equal(shot_savgol_weights(shape, w), SHOT_OK);
    for (size_t i = 0; i <= 2 * shape->left; i++)
        largest = fmax(largest, fabs(w[i]));
    for (size_t k = 0; k <= shape->order; k++) {
        factorial *= k > 0 ? (double)k : 1;
        const double moment = moment_of(w, shape->left, k, &size);
        /* every weight is right to EXACT of the largest */
        assert_close(moment, k == shape->derivative ? factorial : 0, EXACT * largest * size);
    }
}

/* Misprints in the tables are found by their sums; a tabulated filter would fail here. */
static void moments_define_every_window(void **state) {
    for (size_t half = 1; half <= 40; half++)
        for (size_t order = 0; order <= 8 && order <= 2 * half; order++)
            for (size_t derivative = 0; derivative <= order; derivative++)
                check_moments(&(shot_savgol){half, half, order, derivative, 0});
}

static void ends_are_the_published_ones(void **state) {
    for (size_t e = 0; e < sizeof savgol_ends / sizeof *savgol_ends; e++) {
        const savgol_end *end = &savgol_ends[e];
        const size_t half = end->points / 2, last = end->points - 1;
        const double sign = end->derivative % 2 ? -1 : 1;
        shot_savgol shape = {half, half, end->order, end->derivative, end->at};
        double w[7];
        assert_int_equal(shot_savgol_weights(&shape, w), SHOT_OK);
        for (size_t i = 0; i <= last; i++)
            assert_close(w[i], end->weight[i] / end->norm, EXACT);
        shape.at = -end->at; /* the other end is the mirror image */
        assert_int_equal(shot_savgol_weights(&shape, w), SHOT_OK);
        for (size_t i = 0; i <= last; i++)
            assert_close(w[last - i], sign * end->weight[i] / end->norm, EXACT);
    }
}

/* Source: Press, Teukolsky, Vetterling & Flannery 1992, 'Numerical Recipes in C', 2nd ed., section
 * 14.8, table (printed to 3 decimals, from memory; the fractions are exact). */
static void one_sided_windows_are_the_published_ones(void **state) {
    static const struct {
        shot_savgol shape;
        double weight[5], norm;
    } known[] = {
        {{2, 2, 2, 0, 0}, {-3, 12, 17, 12, -3}, 35},
        {{3, 1, 2, 0, 0}, {-5, 6, 12, 13, 9}, 35},
        {{4, 0, 2, 0, 0}, {3, -5, -3, 9, 31}, 35},
    };
    double w[5];
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
        assert_int_equal(shot_savgol_weights(&known[k].shape, w), SHOT_OK);
        for (size_t i = 0; i < 5; i++)
            assert_close(w[i], known[k].weight[i] / known[k].norm, EXACT);
    }
}

/* Fornberg 1988, 'Generation of finite difference formulas on arbitrarily spaced grids', Math.
 * Comp. 51:699-706, table 1: with as many terms as points the fit interpolates. */
static void full_order_gives_finite_differences(void **state) {
    static const double known[] = {-1.0 / 60, 3.0 / 20, -3.0 / 4, 0, 3.0 / 4, -3.0 / 20, 1.0 / 60};
    const shot_savgol shape = {3, 3, 6, 1, 0};
    double w[7];
    assert_int_equal(shot_savgol_weights(&shape, w), SHOT_OK);
    for (size_t i = 0; i < 7; i++)
        assert_close(w[i], known[i], EXACT);
}

/* The exact -3 dB frequency in units of Nyquist, solved from the exact response (to 1e-8); the
 * rule of thumb of Schafer 2011, (order + 1) / (3.2 half - 4.6), meets it within 10 % for half >=
 * 25. */
static void cutoff_is_that_of_the_exact_response(void **state) {
    static const struct {
        size_t order, half;
        double nyquist;
    } known[] = {
        {2, 2, 0.4758707485},  {2, 3, 0.3199095164},  {2, 4, 0.2435730496},  {2, 5, 0.1972743773},
        {2, 7, 0.1433495862},  {2, 10, 0.1018741127}, {2, 12, 0.0854428178}, {2, 25, 0.0417676345},
        {2, 50, 0.0210768866}, {4, 4, 0.4067389367},  {4, 5, 0.3233278084},  {4, 7, 0.2314622855},
        {4, 10, 0.1632421388}, {4, 12, 0.1366078669}, {4, 25, 0.0665167280}, {4, 50, 0.0335354724},
        {6, 25, 0.0914604774}, {6, 50, 0.0460515575},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        double even, odd;
        assert_int_equal(shot_savgol_cutoff(known[i].half, known[i].order, &even), SHOT_OK);
        assert_close(2 * even, known[i].nyquist, 1e-8);
        if (known[i].order + 1 < 2 * known[i].half) {
            assert_int_equal(shot_savgol_cutoff(known[i].half, known[i].order + 1, &odd), SHOT_OK);
            assert_rel(odd, even, 1e-10);
        }
        if (known[i].half >= 25) {
            const double rule = (double)(known[i].order + 1) / (3.2 * (double)known[i].half - 4.6);
            assert_rel(2 * even, rule, 0.1);
        }
    }
}

static void window_is_the_inverse_of_cutoff(void **state) {
    for (size_t order = 0; order <= 6; order++) {
        for (size_t half = order / 2 + 1; half <= 60; half++) {
            double frequency;
            size_t found;
            assert_int_equal(shot_savgol_cutoff(half, order, &frequency), SHOT_OK);
            assert_int_equal(shot_savgol_window(frequency, order, &found), SHOT_OK);
            assert_int_equal(found, half);
        }
    }
}

/* Long windows: the response of a polynomial of degree 2 falls to half at a fixed fraction of the
 * length, so ten times the window has a tenth of the cut-off (to the 1/half of the sum). */
static void window_for_a_very_low_frequency(void **state) {
    size_t low, lower;
    assert_int_equal(shot_savgol_window(1e-3, 2, &low), SHOT_OK);
    assert_int_equal(shot_savgol_window(1e-4, 2, &lower), SHOT_OK);
    assert_close((double)lower / (double)low, 10, 0.02);
}

/* The limit of long windows meets the exact response: of 3000 and 20000 samples on either side the
 * window found is off by at most the 1e-7th part and half a sample.  And the search ends, at once,
 * whatever is asked for: a hertz in samples of a nanosecond is a window of 10^9. */
static void windows_of_any_length_are_found_at_once(void **state) {
    static const size_t halves[] = {1990, 2010, 3000, 20000};
    for (size_t order = 0; order <= 6; order += 2)
        for (size_t i = 0; i < sizeof halves / sizeof *halves; i++) {
            double frequency;
            size_t found;
            assert_int_equal(shot_savgol_cutoff(halves[i], order, &frequency), SHOT_OK);
            assert_int_equal(shot_savgol_window(frequency, order, &found), SHOT_OK);
            assert_int_equal(found, halves[i]);
        }
    size_t half;
    assert_int_equal(shot_savgol_window(1e-9, 2, &half), SHOT_OK);
    assert_close((double)half * 2e-9, 1.06, 0.01);
    assert_int_equal(shot_savgol_window(1e-300, 2, &half), SHOT_OK);
    assert_true((double)half >= fmin(1e12, (double)(SIZE_MAX / 4)));
}

static void impossible_shapes_are_refused(void **state) {
    double w[8], frequency;
    size_t half;
    const shot_savgol too_high = {1, 1, 3, 0, 0}, above = {2, 2, 2, 3, 0};
    assert_int_equal(shot_savgol_weights(&too_high, w), SHOT_ERR_RANGE);
    assert_int_equal(shot_savgol_weights(&above, w), SHOT_OK);
    for (size_t i = 0; i < 5; i++)
        assert_true(w[i] == 0); /* the third derivative of a parabola */
    assert_int_equal(shot_savgol_cutoff(1, 2, &frequency), SHOT_ERR_RANGE);
    assert_int_equal(shot_savgol_cutoff(0, 0, &frequency), SHOT_ERR_RANGE);
    assert_int_equal(shot_savgol_window(0.5, 2, &half), SHOT_ERR_RANGE);
    assert_int_equal(shot_savgol_window(0, 2, &half), SHOT_ERR_RANGE);
    assert_int_equal(shot_savgol_window(0.4, 2, &half), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_are_the_published_ones),
        cmocka_unit_test(moments_define_every_window),
        cmocka_unit_test(ends_are_the_published_ones),
        cmocka_unit_test(one_sided_windows_are_the_published_ones),
        cmocka_unit_test(full_order_gives_finite_differences),
        cmocka_unit_test(cutoff_is_that_of_the_exact_response),
        cmocka_unit_test(window_is_the_inverse_of_cutoff),
        cmocka_unit_test(window_for_a_very_low_frequency),
        cmocka_unit_test(windows_of_any_length_are_found_at_once),
        cmocka_unit_test(impossible_shapes_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
