/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: clocks of any length lose no digit when an origin is subtracted or added. */
#include <support/check.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/number_text.h>

static shot_decimal decimal(const char *text, int shift) {
    shot_decimal d;
    assert_ptr_equal(shot_decimal_read(text, text + strlen(text), shift, &d), text + strlen(text));
    return d;
}

static void assert_text(const shot_decimal *d, const char *expected) {
    char text[SHOT_DECIMAL_ROOM + 1];
    text[shot_decimal_write(text, d)] = '\0';
    assert_string_equal(text, expected);
}

static void an_epoch_keeps_every_digit(void **state) {
    static const struct {
        const char *t, *t0;
        int shift;
        double seconds;
    } cases[] = {
        {"1700000000123.456", "1700000000000", -3, 0.123456},
        {"1700000000123456789", "1700000000123456000", -9, 7.89e-7},
        {"1700000000.1", "1700000000", 0, 0.1},
        {"1.700000000123e12", "1700000000000", -3, 0.123},
        {"1700000000000", "1700000000123.456", -3, -0.123456},
        {"+5", "-5", 0, 10},
        {"0.30000000000000004", "0", 0, 0.30000000000000004},
        {"5.551115123125783e-17", "0", 0, 5.551115123125783e-17},
        {"0", "1e-45", 0, -1e-45},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        shot_decimal t = decimal(cases[i].t, cases[i].shift);
        shot_decimal t0 = decimal(cases[i].t0, cases[i].shift);
        assert_int_equal(shot_decimal_subtract(&t, &t0), SHOT_OK);
        assert_true(shot_decimal_value(&t) == cases[i].seconds);
    }
}

static void origin_plus_value_is_the_log_s_own_clock(void **state) {
    shot_decimal t0 = decimal("1700000000.123456789", 0), t;
    assert_int_equal(shot_decimal_from(6.42, &t), SHOT_OK);
    assert_int_equal(shot_decimal_add(&t, &t0), SHOT_OK);
    assert_text(&t, "1700000006.543456789");
    assert_int_equal(shot_decimal_from(-0.1, &t), SHOT_OK);
    assert_int_equal(shot_decimal_add(&t, &t0), SHOT_OK);
    assert_text(&t, "1700000000.023456789");
}

static void writes_plain_digits(void **state) {
    static const struct {
        const char *text;
        int shift;
        const char *written;
    } cases[] = {
        {"0", 0, "0"},
        {"-0.0", 0, "0"},
        {"007.50", 0, "7.5"},
        {"-12.5", -3, "-0.0125"},
        {"12.5", 3, "12500"},
        {"1e26", 0, "100000000000000000000000000"},
        {"1e-45", 0, "0.000000000000000000000000000000000000000000001"},
        {"19e-46", 0, "0.000000000000000000000000000000000000000000001"},
        {".5", 0, "0.5"},
        {"5.", 0, "5"},
        {"0e999999", 0, "0"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        shot_decimal d = decimal(cases[i].text, cases[i].shift);
        assert_text(&d, cases[i].written);
    }
}

static void takes_any_whole_number(void **state) {
    static const struct {
        int64_t value;
        const char *text;
    } cases[] = {{0, "0"},
                 {-1, "-1"},
                 {1714544100, "1714544100"},
                 {INT64_MAX, "9223372036854775807"},
                 {INT64_MIN, "-9223372036854775808"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        shot_decimal d = shot_decimal_whole(cases[i].value);
        assert_text(&d, cases[i].text);
    }
}

static void refuses_what_does_not_fit(void **state) {
    static const char *const cases[] = {
        "1e27", "-1e27", "1e99999999999", "x", "", "-", "1000000000000000000000000000"};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        shot_decimal d = {{1, 2, 3}};
        assert_null(shot_decimal_read(cases[i], cases[i] + strlen(cases[i]), 0, &d));
        assert_int_equal(d.limb[1], 2);
    }
    shot_decimal big = decimal("9e26", 0), before = big, d;
    assert_int_equal(shot_decimal_add(&big, &before), SHOT_ERR_RANGE);
    assert_memory_equal(&big, &before, sizeof big);
    assert_int_equal(shot_decimal_multiply(&big, -3600), SHOT_ERR_RANGE);
    assert_int_equal(shot_decimal_from(NAN, &d), SHOT_ERR_RANGE);
    assert_int_equal(shot_decimal_from(1e27, &d), SHOT_ERR_RANGE);
}

static void compares_and_multiplies(void **state) {
    shot_decimal a = decimal("-1.5", 0), b = decimal("0.25", 0);
    assert_int_equal(shot_decimal_compare(&a, &b), -1);
    assert_int_equal(shot_decimal_compare(&b, &a), 1);
    assert_int_equal(shot_decimal_compare(&a, &a), 0);
    assert_int_equal(shot_decimal_multiply(&a, 60), SHOT_OK);
    assert_text(&a, "-90");
    assert_int_equal(shot_decimal_multiply(&b, -3600), SHOT_OK);
    assert_text(&b, "-900");
}

/* Whatever its digits, a decimal is the double that the C library reads from its text. */
static void values_are_the_nearest_doubles(void **state) {
    shot_random random = shot_random_at(21, 2);
    for (int i = 0; i < 200000; i++) {
        char text[64], written[SHOT_DECIMAL_ROOM + 1];
        int64_t digits = (int64_t)(shot_random_bits(&random) >> shot_random_below(&random, 60));
        sprintf(text, "%lld", (long long)(i % 2 ? digits : -digits));
        shot_decimal d = decimal(text, -(int)shot_random_below(&random, 20));
        written[shot_decimal_write(written, &d)] = '\0';
        assert_true(shot_decimal_value(&d) == strtod(written, NULL));
    }
}

/* Against whole-number arithmetic of the C compiler, signs and carries of all kinds. */
static void sums_agree_with_integers(void **state) {
    shot_random random = shot_random_at(21, 1);
    for (int i = 0; i < 200000; i++) {
        int bits = 1 + (int)shot_random_below(&random, 61);
        int64_t limit = (int64_t)1 << bits;
        int64_t a = (int64_t)shot_random_below(&random, (uint64_t)limit) - limit / 2;
        int64_t b = (int64_t)shot_random_below(&random, (uint64_t)limit) - limit / 2;
        char text[32];
        sprintf(text, "%lld", (long long)a);
        shot_decimal x = decimal(text, -9);
        sprintf(text, "%lld", (long long)b);
        shot_decimal y = decimal(text, -9), sum = x;
        assert_int_equal(shot_decimal_compare(&x, &y), (a > b) - (a < b));
        assert_int_equal(shot_decimal_add(&sum, &y), SHOT_OK);
        sprintf(text, "%lld", (long long)(a + b));
        shot_decimal expected = decimal(text, -9);
        assert_memory_equal(&sum, &expected, sizeof sum);
        assert_int_equal(shot_decimal_subtract(&sum, &y), SHOT_OK);
        assert_memory_equal(&sum, &x, sizeof sum);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_epoch_keeps_every_digit),
        cmocka_unit_test(origin_plus_value_is_the_log_s_own_clock),
        cmocka_unit_test(writes_plain_digits),
        cmocka_unit_test(takes_any_whole_number),
        cmocka_unit_test(refuses_what_does_not_fit),
        cmocka_unit_test(compares_and_multiplies),
        cmocka_unit_test(values_are_the_nearest_doubles),
        cmocka_unit_test(sums_agree_with_integers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
