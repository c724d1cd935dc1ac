/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every unit test includes: cmocka, and comparisons of doubles with a stated tolerance. */
#ifndef SHOT_TEST_CHECK_H
#define SHOT_TEST_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdbool.h>

#define assert_close(actual, expected, tolerance)                                                  \
    check_close_((actual), (expected), (tolerance), #actual, __FILE__, __LINE__)

/* Relative where the expected value is not 0, absolute there. */
#define assert_rel(actual, expected, tolerance)                                                    \
    check_close_((actual), (expected),                                                             \
                 (tolerance) * ((expected) != 0 ? fabs((double)(expected)) : 1), #actual,          \
                 __FILE__, __LINE__)

static inline void check_close_(double actual, double expected, double tolerance, const char *text,
                                const char *file, int line) {
    if ((isnan(actual) && isnan(expected)) || actual == expected ||
        fabs(actual - expected) <= tolerance)
        return;
    print_error("%s is %.17g, expected %.17g within %g (off by %g)\n", text, actual, expected,
                tolerance, actual - expected);
    _fail(file, line);
}

#endif
