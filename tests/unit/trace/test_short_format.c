/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: text made to a format is to the byte that of the C library, whether or not it goes the
 * short way of the formats that a line of a trace needs. */
#include <support/check.h>

#include <float.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/text.h>
#include <trace/short_format.h>

enum { ROOM = 2000 };

/* Whether it went the short way. */
static bool expect(const char *format, ...) SHOT_PRINTF(1, 2);

static bool expect(const char *format, ...) {
    char expected[ROOM], out[ROOM];
    shot_text text = {0};
    size_t length;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(expected, ROOM, format, arguments);
    va_end(arguments);
    va_start(arguments, format);
    assert_int_equal(shot_text_add_arguments(&text, format, arguments), SHOT_OK);
    va_end(arguments);
    assert_string_equal(text.bytes, expected);
    assert_int_equal(text.length, strlen(expected));
    shot_text_free(&text);
    va_start(arguments, format);
    const bool is_short = short_format(out, ROOM, &length, format, arguments);
    va_end(arguments);
    if (is_short)
        assert_string_equal(out, expected);
    return is_short;
}

/* One number with all counts of digits that the formats of this library ask for. */
static void check_number(double value) {
    expect("%.1g %.2g %.3g", value, value, value);
    expect("of %.3g%s%s at %.10g s", value, " ", "bar", value);
    expect("%.4g|%.6g|%.12g|%.17g|%g|%f|%.0f", value, value, value, value, value, value, value);
}

static void numbers_are_those_of_the_c_library(void **state) {
    const double edges[] = {0,         -0.0,  1e-4,     0.00099995, 0.000099999, 9.995,
                            9.9949999, 99.95, 999.5,    9999.5,     99995,       999999.5,
                            0.5,       2.5,   0.125,    1e10,       DBL_MAX,     DBL_MIN,
                            INFINITY,  NAN,   -3.14159, 12345.6,    123456.5,    9999999999,
                            0.1 + 0.2, 9.5,   99.5,     0.95};
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++) {
        check_number(edges[i]);
        check_number(nextafter(edges[i], INFINITY));
        check_number(nextafter(edges[i], -INFINITY));
    }
    for (uint64_t i = 0; i < 20000; i++) {
        shot_random random = shot_random_at(3, i);
        const double value = pow(10, shot_random_between(&random, -8, 12));
        check_number(i % 2 ? value : -value);
        check_number(round(value * 20) / 20); /* halves and fives behind the last digit */
    }
}

static void words_and_counts(void **state) {
    assert_true(expect("%s", ""));
    assert_true(expect("plain"));
    assert_true(expect("%s spikes in %s", "7", "a % of it"));
    assert_true(expect("%zu %zu %zu", (size_t)0, (size_t)10, SIZE_MAX));
    assert_true(expect("%s sd=%.4g", "pressure", 0.0605));
    assert_false(expect("100 %% of %d, %5s, %-5s|%.2s|%c|%lu", -3, "ab", "ab", "abc", 'x', 5ul));
    assert_false(expect("%s and then %.3g and %d", "first", 1.5, 3));
}

static bool write_into(char *out, size_t room, size_t *length, const char *format, ...)
    SHOT_PRINTF(4, 5);

static bool write_into(char *out, size_t room, size_t *length, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    const bool done = short_format(out, room, length, format, arguments);
    va_end(arguments);
    return done;
}

static void any_room_is_kept_to(void **state) {
    static const char whole[] = "pressure sd=0.01235 n=123;";
    for (size_t room = 0; room < 40; room++) {
        char out[ROOM];
        size_t length = 0;
        memset(out, '#', sizeof out);
        const bool done =
            write_into(out, room, &length, "%s sd=%.4g n=%zu;", "pressure", 0.012345, (size_t)123);
        assert_true(done == (room >= sizeof whole));
        assert_true(!done || (strcmp(out, whole) == 0 && length == sizeof whole - 1));
        assert_true(out[room] == '#');
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_those_of_the_c_library),
        cmocka_unit_test(words_and_counts),
        cmocka_unit_test(any_room_is_kept_to),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
