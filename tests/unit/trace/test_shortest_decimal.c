/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the short way to the shortest decimal finds what the C++ run-time's std::to_chars does
 * (ISO/IEC 14882:2017, section 23.20.2: shortest, and of several the nearest), for random numbers
 * and at the edges where the intervals of neighbours change. */
#include <support/check.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <trace/number_text_exact.h>
#include <trace/shortest_decimal.h>

#ifdef __SIZEOF_INT128__
/* The digits of d.ddde+XX without point and trailing zeros, and how many lie behind the point. */
static void take_apart(double magnitude, uint64_t *digits, int *decimals) {
    char text[33];
    text[shot_number_write_exact(text, magnitude, 0)] = '\0';
    *digits = 0;
    int count = 0;
    const char *p = text;
    for (; *p != 'e'; p++)
        if (*p != '.') {
            *digits = *digits * 10 + (uint64_t)(*p - '0');
            count++;
        }
    *decimals = count - 1 - atoi(p + 1);
    for (; *decimals > 0 && *digits % 10 == 0; --*decimals)
        *digits /= 10;
    for (; *decimals < 0; ++*decimals)
        *digits *= 10;
}

static void check_one(double magnitude) {
    shortest_decimal found;
    uint64_t digits;
    int decimals;
    if (!shortest_decimal_find(magnitude, &found)) {
        fail_msg("%.17g was not found", magnitude);
        return;
    }
    take_apart(magnitude, &digits, &decimals);
    if (found.digits != digits || found.decimals != decimals)
        fail_msg("%.17g: %llu with %d decimals, not %llu with %d", magnitude,
                 (unsigned long long)found.digits, found.decimals, (unsigned long long)digits,
                 decimals);
}

/* Random bits under every exponent that is served. */
static void random_numbers_agree(void **state) {
    shot_random random = shot_random_at(8, 1);
    for (int exponent = -17; exponent < 52; exponent++)
        for (int i = 0; i < 5000; i++)
            check_one(ldexp(1 + (double)(1 + (shot_random_bits(&random) >> 12)) / 0x1p52 / 1.0001,
                            exponent));
}

/* Decimals of few digits and their neighbours on either side, next to powers of two and of ten. */
static void edges_agree(void **state) {
    for (int exponent = -16; exponent < 52; exponent++)
        for (int step = 1; step < 20; step++) {
            check_one(ldexp(1 + step * 0x1p-52, exponent));
            check_one(ldexp(1 - step * 0x1p-53, exponent));
        }
    for (double decade = 0.01; decade < 1e15; decade *= 10)
        for (int step = 1; step < 10; step++) {
            const double near = decade * (1 + step * 0.1);
            check_one(nextafter(near, 0));
            check_one(nextafter(near, INFINITY));
        }
}

/* Halve 1 in units of 2^60, and take ten times as much before it would be less. */
static void scales_are_powers(void **state) {
    uint128 power = (uint128)1 << 60; /* 10^decimals 2^(60-shift) */
    for (int shift = 0, decimals = 0; shift <= SHORTEST_DECIMAL_MOST; shift++) {
        assert_true(shortest_decimal_scales[shift].power == power);
        assert_int_equal(shortest_decimal_scales[shift].decimals, decimals);
        if (power / 2 < (uint128)1 << 60) {
            power *= 10;
            decimals++;
        }
        assert_true(power % 2 == 0);
        power /= 2;
    }
}
#endif

static void what_is_not_served_is_refused(void **state) {
    const double others[] = {0,     0x1.8p-18, 1,      4,        0.25, 0x1p53,
                             1e300, 1e-300,    5e-324, INFINITY, NAN};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        shortest_decimal found;
        assert_false(shortest_decimal_find(others[i], &found));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
#ifdef __SIZEOF_INT128__ /* else nothing is served */
        cmocka_unit_test(random_numbers_agree),
        cmocka_unit_test(edges_agree),
        cmocka_unit_test(scales_are_powers),
#endif
        cmocka_unit_test(what_is_not_served_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
