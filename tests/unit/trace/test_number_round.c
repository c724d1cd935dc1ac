/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a number rounded without text is the one that its rounded text reads as.  The
 * independent reference is the C library's printf and strtod, which round correctly (glibc manual,
 * "Formatted Output" and "Parsing of Floats"). */
#include <support/any_number.h>
#include <support/check.h>

#include <stdio.h>
#include <stdlib.h>

#include <shottrace/trace/number_text.h>

static void check_rounded(double value, int digits) {
    char text[64];
    snprintf(text, sizeof text, "%.*e", digits - 1, value);
    const double rounded = shot_number_round(value, digits);
    if (bits_of(rounded) != bits_of(strtod(text, NULL)))
        fail_msg("%.17g to %d digits is %.17g, not %s", value, digits, rounded, text);
}

/* Rounding without text is writing that many digits and reading them: the C library does both for
 * any double, for logged and computed ones, and for the half way between two short decimals and its
 * neighbours, where a rounded product could tip. */
static void rounding_to_digits_is_that_of_their_text(void **state) {
    shot_random random = shot_random_at(20, 6);
    for (int i = 0; i < 400000; i++) {
        const int digits = 1 + (int)shot_random_below(&random, 17);
        const double any =
            i % 2 ? finite_number(&random) : logged_number(&random) * logged_number(&random);
        check_rounded(any, digits);
        const double half = ((double)shot_random_below(&random, 1000000) + 0.5) /
                            pow(10, (double)shot_random_below(&random, 12));
        check_rounded(half, digits);
        check_rounded(nextafter(half, 0), digits);
        check_rounded(-nextafter(half, INFINITY), digits);
    }
    for (int exponent = -320; exponent <= 308; exponent++)
        for (int digits = 1; digits <= 17; digits++) {
            const double power = pow(10, exponent);
            check_rounded(power, digits);
            check_rounded(nextafter(power, 0), digits);
            check_rounded(nextafter(power, INFINITY), digits);
        }
    check_rounded(0.0, 3);
    check_rounded(-0.0, 3);
    assert_true(isnan(shot_number_round(INFINITY, 3)));
    assert_true(isnan(shot_number_round(NAN, 3)));
    assert_true(shot_number_round(12.3456, 0) == 10); /* counts are brought inside 1..17 */
    assert_true(shot_number_round(12.3456, 99) == 12.3456);
}

/* Logged ones, computed ones, half ways, zeros and what is missing, side by side. */
static double number_in_a_log(shot_random *random) {
    const double half = ((double)shot_random_below(random, 1000000) + 0.5) /
                        pow(10, (double)shot_random_below(random, 12));
    switch (shot_random_below(random, 8)) {
    case 0:
        return finite_number(random);
    case 1:
        return shot_random_chance(random, 0.5) ? -half : nextafter(half, 0);
    case 2:
        return shot_random_chance(random, 0.5) ? 0.0 : -0.0;
    case 3:
        return shot_random_chance(random, 0.5) ? NAN : INFINITY;
    default:
        return logged_number(random) * logged_number(random);
    }
}

static void many_are_rounded_as_one_by_one(void **state) {
    enum { MOST = 40 };
    shot_random random = shot_random_at(20, 7);
    double value[MOST], rounded[MOST];
    for (int i = 0; i < 60000; i++) {
        const size_t n = shot_random_below(&random, MOST + 1);
        const int digits = (int)shot_random_below(&random, 19);
        for (size_t k = 0; k < n; k++)
            value[k] = rounded[k] = number_in_a_log(&random);
        shot_number_round_all(rounded, n, digits);
        for (size_t k = 0; k < n; k++) {
            const double one = shot_number_round(value[k], digits);
            assert_true(isnan(one) ? isnan(rounded[k]) : bits_of(one) == bits_of(rounded[k]));
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rounding_to_digits_is_that_of_their_text),
        cmocka_unit_test(many_are_rounded_as_one_by_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
