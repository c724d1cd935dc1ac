/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: decimals and ratios of rates become the fraction that was meant, and nothing else
 * does. */
#include <support/check.h>

#include <shottrace/signal/fraction.h>

static void check_fraction(double x, uint64_t over, uint64_t under) {
    const shot_fraction f = shot_fraction_of(x, 1000000);
    assert_int_equal(f.over, over);
    assert_int_equal(f.under, under);
}

static void what_was_meant(void **state) {
    check_fraction(0.05, 1, 20);
    check_fraction(1 / 20.0, 1, 20);
    check_fraction(0.3, 3, 10);
    check_fraction(48000.0 / 44100.0, 160, 147);
    check_fraction(1.0 / 3, 1, 3);
    check_fraction(480, 480, 1);
    check_fraction(1e-6, 1, 1000000);
    check_fraction(0.123457, 123457, 1000000);
}

static void every_small_fraction_is_found(void **state) {
    for (uint64_t under = 1; under <= 1024; under++)
        for (uint64_t over = 1; over < 40; over++) {
            const shot_fraction f = shot_fraction_of((double)over / (double)under, 1024);
            assert_int_equal(f.over * under, over * f.under);
            assert_true(f.under <= under);
        }
}

static void nothing_else_is(void **state) {
    const double none[] = {3.14159265358979323846, 1e-7, 0, -0.5, NAN, INFINITY, 1e12};
    for (size_t k = 0; k < sizeof none / sizeof *none; k++)
        assert_int_equal(shot_fraction_of(none[k], 1000000).under, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_meant),
        cmocka_unit_test(every_small_fraction_is_found),
        cmocka_unit_test(nothing_else_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
