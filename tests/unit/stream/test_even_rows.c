/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <math.h>

#include "stream/even_rows.h"

/* Protects: clocks that round to milliseconds are even at 10 Hz and not at 30, whatever they start
 * from; a rate that is no whole number is found; a lost row is seen. */
static void test_even_and_uneven(void **state) {
    double time[300];
    for (int i = 0; i < 300; i++)
        time[i] = 7 + i / 10.0;
    shot_even_rows rows = shot_even_rows_of(time, 300);
    assert_true(rows.even && rows.rate == 10);
    for (int i = 0; i < 300; i++)
        time[i] = i * 0.08;
    rows = shot_even_rows_of(time, 300);
    assert_true(rows.even && fabs(rows.rate - 12.5) < 1e-12);
    for (int i = 0; i < 300; i++)
        time[i] = rint(i * 1000 / 30.0) / 1000;
    assert_false(shot_even_rows_of(time, 300).even);
    for (int i = 0; i < 300; i++)
        time[i] = (i + (i >= 250)) / 10.0;
    assert_false(shot_even_rows_of(time, 300).even);
}

/* Protects: too few rows, and times that do not rise, have no rate. */
static void test_no_rate(void **state) {
    const double time[] = {3, 3, 2};
    assert_true(isnan(shot_even_rows_of(time, 0).rate));
    assert_true(isnan(shot_even_rows_of(time, 1).rate));
    assert_true(isnan(shot_even_rows_of(time, 2).rate));
    assert_true(isnan(shot_even_rows_of(time, 3).rate));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_even_and_uneven),
        cmocka_unit_test(test_no_rate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
