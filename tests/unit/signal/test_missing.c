/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a missing or infinite value is seen wherever it stands, in arrays of any length, and
 * large ones are none. */
#include <support/check.h>

#include <float.h>
#include <math.h>
#include <stdlib.h>

#include <signal/missing.h>

enum { LONGEST = 41 };

/* The memory ends where the values do. */
static double *values_of(size_t n) {
    double *y = calloc(n > 0 ? n : 1, sizeof *y);
    for (size_t i = 0; i < n; i++)
        y[i] = i % 3 == 0 ? DBL_MAX : i % 3 == 1 ? -DBL_MAX : -0.0;
    return y;
}

static void one_is_seen_anywhere(void **state) {
    for (size_t n = 0; n <= LONGEST; n++) {
        double *y = values_of(n);
        assert_false(any_missing(y, n));
        assert_true(all_finite(y, n));
        assert_int_equal(count_missing(y, n), 0);
        for (size_t i = 0; i < n; i++) {
            const double keep = y[i];
            y[i] = i % 2 == 0 ? NAN : -NAN;
            assert_true(any_missing(y, n));
            assert_false(all_finite(y, n));
            assert_int_equal(count_missing(y, n), 1);
            y[i] = i % 2 == 0 ? INFINITY : -INFINITY;
            assert_false(any_missing(y, n));
            assert_false(all_finite(y, n));
            y[i] = keep;
        }
        free(y);
    }
}

static void all_are_counted(void **state) {
    for (size_t n = 0; n <= LONGEST; n++) {
        double *y = values_of(n);
        for (size_t i = 0; i < n; i++)
            y[i] = NAN;
        assert_int_equal(count_missing(y, n), n);
        assert_int_equal(any_missing(y, n), n > 0);
        free(y);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_is_seen_anywhere),
        cmocka_unit_test(all_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
