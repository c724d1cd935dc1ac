/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: times in the log's own clock, which keep every digit of an epoch. */
#include <support/check.h>

#include <string.h>

#include <shottrace/trace/log_time.h>

static shot_decimal read(const char *text) {
    shot_decimal out = {{0}};
    assert_int_equal(shot_log_time_read(text, &out), SHOT_OK);
    return out;
}

/* A double near 1.7e18 ns is good to 256 ns only; the decimal keeps the last digit. */
static void an_epoch_in_nanoseconds_keeps_its_last_digit(void **state) {
    const shot_decimal origin = read("1700000000"), clock = read("1700000000000000123ns");
    assert_true(shot_log_time_to_trace(&clock, &origin) == 123e-9);
}

/* 60 s are a minute and 1000 ms a second: NIST SP 811, table 6. */
static void units_of_time(void **state) {
    const shot_decimal zero = {{0}};
    const struct {
        const char *text;
        double seconds;
    } cases[] = {{"7.4", 7.4},   {" 7.4 s ", 7.4}, {"300ms", 0.3}, {"2min", 120},
                 {"+1.5s", 1.5}, {"-2", -2},       {"1e1", 10}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const shot_decimal clock = read(cases[i].text);
        assert_true(shot_log_time_to_trace(&clock, &zero) == cases[i].seconds);
    }
}

static void what_is_no_time(void **state) {
    shot_decimal out = read("5");
    const shot_decimal five = out;
    assert_int_equal(shot_log_time_read("", &out), SHOT_ERR_SYNTAX);
    assert_int_equal(shot_log_time_read("soon", &out), SHOT_ERR_SYNTAX);
    assert_int_equal(shot_log_time_read("1e30", &out), SHOT_ERR_SYNTAX);
    assert_int_equal(shot_log_time_read("3 bar", &out), SHOT_ERR_UNIT);
    assert_int_equal(shot_decimal_compare(&out, &five), 0);
}

/* What shot-marks prints is what is read back. */
static void written_and_read_back(void **state) {
    const shot_decimal origin = read("1699999999.999999");
    shot_text text = {0};
    assert_int_equal(shot_text_add_log_time(&text, 0.1, &origin), SHOT_OK);
    assert_string_equal(text.bytes, "1700000000.099999");
    const shot_decimal clock = read(text.bytes);
    assert_true(shot_log_time_to_trace(&clock, &origin) == 0.1);
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_epoch_in_nanoseconds_keeps_its_last_digit),
        cmocka_unit_test(units_of_time),
        cmocka_unit_test(what_is_no_time),
        cmocka_unit_test(written_and_read_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
