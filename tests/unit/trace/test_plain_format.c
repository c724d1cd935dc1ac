/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: text made to a format is to the byte that of the C library, whether or not it goes the
 * short way of the formats that a line of a trace needs. */
#include <support/check.h>

#include <float.h>
#include <stdio.h>
#include <string.h>

#include <plain_format.h>
#include <shottrace/signal/random.h>

enum { ROOM = 400 };

static void expect(char *out, size_t room, const char *format, ...) SHOT_PRINTF(3, 4);

static void expect(char *out, size_t room, const char *format, ...) {
    char expected[ROOM];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(expected, room, format, arguments);
    va_end(arguments);
    va_start(arguments, format);
    assert_int_equal(shot_format_arguments(out, room, format, arguments), length);
    va_end(arguments);
    if (room > 0)
        assert_string_equal(out, expected);
}

/* One number with all counts of digits that the formats of this library ask for. */
static void check_number(double value) {
    char out[ROOM];
    expect(out, ROOM, "%.1g %.2g %.3g", value, value, value);
    expect(out, ROOM, "of %.3g%s%s at %.10g s", value, " ", "bar", value);
    expect(out, ROOM, "%.4g|%.6g|%.12g|%.17g|%g|%f|%.0f", value, value, value, value, value, value,
           value);
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
    char out[ROOM];
    expect(out, ROOM, "%s", "");
    expect(out, ROOM, "plain");
    expect(out, ROOM, "%s spikes in %s", "7", "a % of it");
    expect(out, ROOM, "%zu %zu %zu", (size_t)0, (size_t)10, SIZE_MAX);
    expect(out, ROOM, "100 %% of %d, %5s, %-5s|%.2s|%c|%lu", -3, "ab", "ab", "abc", 'x', 5ul);
    expect(out, ROOM, "%s and then %.3g and %d", "first", 1.5, 3); /* the long way, all of it */
}

/* What does not fit is counted as by the C library. */
static void any_room_is_kept_to(void **state) {
    for (size_t room = 0; room < 40; room++) {
        char out[ROOM];
        memset(out, '#', sizeof out);
        expect(out, room, "%s sd=%.4g n=%zu;", "pressure", 0.012345, (size_t)123);
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
