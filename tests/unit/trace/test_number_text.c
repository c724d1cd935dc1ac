/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: number text is exact in both directions, shortest, in the notation of the trace stream,
 * and blind to the locale.  The independent reference is the C library's strtod and printf in the
 * C locale, which round correctly (glibc manual, "Parsing of Floats" and "Formatted Output"). */
#include <support/any_number.h>
#include <support/check.h>
#include <support/comma_locale.h>

#include <float.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

static double read_all(const char *text) {
    double value = NAN;
    assert_ptr_equal(shot_number_read(text, text + strlen(text), &value), text + strlen(text));
    return value;
}

static void assert_reads(const char *text, double expected) {
    double value = read_all(text);
    if (bits_of(value) != bits_of(expected))
        fail_msg("'%s' reads as %.17g, not %.17g", text, value, expected);
}

static void assert_writes(double value, const char *expected) {
    char text[SHOT_NUMBER_ROOM + 1];
    text[shot_number_write(text, value)] = '\0';
    assert_string_equal(text, expected);
}

static void assert_writes_digits(double value, int digits, const char *expected) {
    char text[SHOT_NUMBER_ROOM + 1];
    text[shot_number_write_digits(text, value, digits)] = '\0';
    assert_string_equal(text, expected);
}

/* ---------------------------------------------------------------------------------------------- */

static const struct {
    const char *text;
    int used; /* 0: no number */
    double value;
} numbers[] = {
    {"9.31,", 4, 9.31},
    {"-0.5", 4, -0.5},
    {"+12", 3, 12},
    {".5", 2, 0.5},
    {"5.", 2, 5},
    {"1e3", 3, 1000},
    {"1E-3 ", 4, 1e-3},
    {"1e+2", 4, 100},
    {"1e", 1, 1},
    {"1e+", 1, 1},
    {"1e+x", 1, 1},
    {"007", 3, 7},
    {"0x10", 1, 0},
    {"1.2.3", 3, 1.2},
    {"1,5", 1, 1},
    {"-0", 2, -0.0},
    {"", 0, 0},
    {"-", 0, 0},
    {"+", 0, 0},
    {".", 0, 0},
    {"-.", 0, 0},
    {"e5", 0, 0},
    {".e5", 0, 0},
    {" 1", 0, 0},
    {"inf", 0, 0},
    {"nan", 0, 0},
    {"--1", 0, 0},
    {"+-1", 0, 0},
    {"1 000", 1, 1},
    {"1_0", 1, 1},
    {"1f", 1, 1},
    {"\xef\xbb\xbf"
     "1",
     0, 0},
};

static void reads_what_the_header_says_and_stops_there(void **state) {
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        const char *text = numbers[i].text;
        double value = -7;
        const char *after = shot_number_read(text, text + strlen(text), &value);
        if (numbers[i].used == 0) {
            assert_null(after);
            assert_int_equal(bits_of(value), bits_of(-7));
            continue;
        }
        assert_ptr_equal(after, text + numbers[i].used);
        assert_int_equal(bits_of(value), bits_of(numbers[i].value));
    }
}

/* Nothing behind `end` is looked at, so a field of a line needs no copy. */
static void stays_inside_the_text(void **state) {
    static const char *const texts[] = {"12.5e37", "12.3456789012345678901e5",
                                        ".12345678901234567"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        for (size_t length = i == 2 ? 2 : 1; length <= strlen(texts[i]); length++) {
            char *exact = malloc(length); /* the sanitizer watches its end */
            memcpy(exact, texts[i], length);
            double value;
            assert_non_null(shot_number_read(exact, exact + length, &value));
            char terminated[32] = "";
            memcpy(terminated, texts[i], length);
            assert_int_equal(bits_of(value), bits_of(strtod(terminated, NULL)));
            free(exact);
        }
}

/* Decimal numbers chosen to lie within a hair of the middle between two doubles, so that a reader
 * that rounds more than once fails: Paxson 1991, "A program for testing IEEE decimal-binary
 * conversion", tables 1 and 2 (just under and just over the middle, 1 to 24 digits). */
static const char *const hard_cases[] = {
    "5e125",
    "69e267",
    "999e-26",
    "7861e-34",
    "75569e-254",
    "928609e-261",
    "9210917e80",
    "84863171e114",
    "653777767e273",
    "5232604057e-298",
    "27235667517e-109",
    "653532977297e-123",
    "3142213164987e-294",
    "46202199371337e-72",
    "231010996856685e-73",
    "9324754620109615e212",
    "78459735791271921e49",
    "272104041512242479e200",
    "6802601037806061975e198",
    "20505426358836677347e-221",
    "836168422905420598437e-234",
    "4891559871276714924261e222",
    "9e-265",
    "85e-37",
    "623e100",
    "3571e263",
    "81661e153",
    "920657e-23",
    "4603285e-24",
    "87575437e-309",
    "245540327e122",
    "6138508175e120",
    "83356057653e193",
    "619534293513e124",
    "2335141086879e218",
    "36167929443327e-159",
    "609610927149051e-255",
    "3743626360493413e-165",
    "94080055902682397e-242",
    "899810892172646163e283",
    "7120190517612959703e120",
    "25188282901709339043e-252",
    "308984926168550152811e-52",
    "6372891218502368041059e64",
};

static void reads_the_published_hard_cases(void **state) {
    for (size_t i = 0; i < sizeof hard_cases / sizeof *hard_cases; i++)
        assert_reads(hard_cases[i], strtod(hard_cases[i], NULL));
}

/* The places where the format itself has an edge, from IEEE 754-2019, table 3.5 (p = 53, emax =
 * 1023): the middle between neighbours goes to the even one, and one digit more tips it. */
static void reads_the_edges_of_the_format(void **state) {
    assert_reads("9007199254740993", 9007199254740992.0);
    assert_reads("9007199254740993.00000000000000000000000000000000000001", 9007199254740994.0);
    assert_reads("9007199254740995", 9007199254740996.0);
    assert_reads("1.00000000000000011102230246251565404236316680908203125", 1.0);
    assert_reads("1.00000000000000011102230246251565404236316680908203124", 1.0);
    assert_reads("1.00000000000000011102230246251565404236316680908203126", 1.0 + DBL_EPSILON);
    assert_reads("1.7976931348623157e308", DBL_MAX);
    assert_reads("1.7976931348623158079e308", DBL_MAX);
    assert_reads("1.797693134862315808e308", INFINITY);
    assert_reads("-1e309", -INFINITY);
    assert_reads("1e99999999999999999999", INFINITY);
    assert_reads("2.2250738585072014e-308", DBL_MIN);
    assert_reads("2.2250738585072011e-308", from_bits(0x000fffffffffffffu));
    assert_reads("2.2250738585072012e-308", DBL_MIN);
    assert_reads("4.9e-324", from_bits(1));
    assert_reads("2.4703282292062328e-324", from_bits(1));
    assert_reads("2.4703282292062327e-324", 0.0);
    assert_reads("-1e-400", -0.0);
    assert_reads("1e-99999999999999999999", 0.0);
    assert_reads("0e99999999999999999999", 0.0);
}

/* Digits without end are a number too: the value depends on all of them, the time on their count.
 */
static void reads_any_count_of_digits(void **state) {
    enum { COUNT = 200000 };
    char *text = malloc(COUNT + 16);
    memset(text, '0', COUNT);
    memcpy(text, "0.", 2);
    strcpy(text + COUNT, "25");
    assert_reads(text, 0.0);
    sprintf(text + COUNT, "25e%d", COUNT - 2);
    assert_reads(text, 0.25);
    memset(text, '9', COUNT);
    text[COUNT] = '\0';
    assert_reads(text, INFINITY);
    sprintf(text + COUNT, "e-%d", COUNT);
    assert_reads(text, 1.0);
    free(text);
}

static void writes_the_notation_of_the_stream(void **state) {
    assert_writes(0.0, "0");
    assert_writes(-0.0, "-0");
    assert_writes(9.31, "9.31");
    assert_writes(-0.05, "-0.05");
    assert_writes(100000, "100000");
    assert_writes(0.00012, "0.00012");
    assert_writes(1e-5, "0.00001");
    assert_writes(1.5e-5, "0.000015");
    assert_writes(1.23456789e-5, "0.0000123456789");
    assert_writes(9.99e-6, "9.99e-06");
    assert_writes(2.5e-7, "2.5e-07");
    assert_writes(999999999999999.0, "999999999999999");
    assert_writes(1e15, "1e+15");
    assert_writes(123456789012345680.0, "1.2345678901234568e+17");
    assert_writes(1e22, "1e+22");
    assert_writes(1e100, "1e+100");
    assert_writes(0.1 + 0.2, "0.30000000000000004");
    assert_writes(100000.1, "100000.1");
    assert_writes(999999999999999.9, "999999999999999.9");
    assert_writes(1.0 / 3, "0.3333333333333333");
    assert_writes(-1e-5 / 3, "-3.3333333333333337e-06");
    assert_writes(DBL_MAX, "1.7976931348623157e+308");
    assert_writes(DBL_MIN, "2.2250738585072014e-308");
    assert_writes(from_bits(1), "5e-324");
    assert_writes(NAN, "");
    assert_writes(INFINITY, "");
    assert_writes(-INFINITY, "");
}

static void writes_at_most_the_digits_asked_for(void **state) {
    assert_writes_digits(12.3456, 3, "12.3");
    assert_writes_digits(12.3456, 17, "12.3456");
    assert_writes_digits(12.3456, 6, "12.3456");
    assert_writes_digits(0.1 + 0.2, 16, "0.3");
    assert_writes_digits(0.1 + 0.2, 17, "0.30000000000000004");
    assert_writes_digits(99.96, 3, "100");
    assert_writes_digits(123456, 2, "120000");
    assert_writes_digits(0.000123456, 2, "0.00012");
    assert_writes_digits(999999999999999.9, 3, "1e+15");
    assert_writes_digits(9.996e-6, 3, "0.00001");
    assert_writes_digits(-0.0, 3, "-0");
    assert_writes_digits(NAN, 3, "");
    /* 0.125 lies in the middle (to even), 2.675 is a double a little under it. */
    assert_writes_digits(0.125, 2, "0.12");
    assert_writes_digits(2.675, 3, "2.67");
    /* Counts outside 1..17 are brought inside. */
    assert_writes_digits(12.3456, 0, "10");
    assert_writes_digits(12.3456, 99, "12.3456");
}

/* ---------------------------------------------------------------------------------------------- */

static void check_round_trip(double value) {
    char text[SHOT_NUMBER_ROOM];
    double back = NAN;
    const size_t length = shot_number_write(text, value);
    assert_true(length > 0 && length <= SHOT_NUMBER_ROOM);
    const char *after = shot_number_read(text, text + length, &back);
    if (after != text + length || bits_of(back) != bits_of(value))
        fail_msg("%.17g is written '%.*s' and read %.17g", value, (int)length, text, back);
}

static void check_round_trip_beside(double value) {
    check_round_trip(value);
    check_round_trip(nextafter(value, 0));
    if (value < DBL_MAX)
        check_round_trip(nextafter(value, INFINITY));
}

/* 10^6 doubles of any bits and 10^6 logged ones come back bit for bit.  (The bench of number text
 * does 10^8.) */
static void what_is_written_reads_back_the_same(void **state) {
    shot_random random = shot_random_at(20, 1);
    for (int i = 0; i < 2000000; i++)
        check_round_trip(i % 2 == 0 ? finite_number(&random) : logged_number(&random));
}

/* So do the hard decimals, every power of two, where the gaps between doubles change, every power
 * of ten, and the doubles on either side of each. */
static void hard_numbers_are_written_and_read_back(void **state) {
    for (size_t i = 0; i < sizeof hard_cases / sizeof *hard_cases; i++)
        check_round_trip_beside(strtod(hard_cases[i], NULL));
    for (int exponent = -1074; exponent <= 1023; exponent++)
        check_round_trip_beside(ldexp(1, exponent));
    for (int exponent = -323; exponent <= 308; exponent++) {
        char text[8];
        snprintf(text, sizeof text, "1e%d", exponent);
        check_round_trip_beside(strtod(text, NULL));
    }
    check_round_trip_beside(DBL_MAX);
}

/* More digits than a double holds, a point among or before them: half way between two doubles, one
 * digit to either side of that, and any. */
static void long_decimals_agree_with_the_c_library(void **state) {
    shot_random random = shot_random_at(84, 0);
    for (int i = 0; i < 200000; i++) {
        const uint64_t half = (UINT64_C(1) << 53) + 1 + 2 * shot_random_below(&random, 1u << 30);
        uint64_t digits = shot_random_bits(&random) >> (1 + shot_random_below(&random, 11));
        if (shot_random_chance(&random, 0.3))
            digits = half * (i % 2 ? 1000 : 100) + shot_random_below(&random, 3) - 1;
        char text[48], bare[24];
        const int count = snprintf(bare, sizeof bare, "%llu", (unsigned long long)digits);
        const int whole = (int)shot_random_below(&random, (uint64_t)count + 1);
        snprintf(text, sizeof text, "%.*s.%s%s", whole, bare, bare + whole,
                 shot_random_chance(&random, 0.1) ? "e-2" : "");
        assert_reads(text, strtod(text, NULL));
    }
}

/* Reading agrees with the C library on decimals of 1 to 25 random digits and any exponent. */
static void reading_agrees_with_the_c_library(void **state) {
    shot_random random = shot_random_at(20, 2);
    for (int i = 0; i < 300000; i++) {
        char text[64];
        int at = 0, digits = 1 + (int)shot_random_below(&random, 25);
        int point = (int)shot_random_below(&random, 30);
        for (int d = 0; d < digits; d++) {
            if (d == point)
                text[at++] = '.';
            text[at++] = (char)('0' + shot_random_below(&random, 10));
        }
        text[at] = '\0';
        if (i % 3 == 0)
            sprintf(text + at, "e%d", (int)shot_random_below(&random, 680) - 350);
        else if (i % 3 == 1)
            sprintf(text + at, "e%d", (int)shot_random_below(&random, 60) - 30);
        assert_reads(text, strtod(text, NULL));
    }
}

static int count_digits(const char *text) {
    int count = 0, zeros = 0;
    bool begun = false;
    for (; *text != '\0' && *text != 'e'; text++)
        if (*text >= '0' && *text <= '9') {
            begun = begun || *text != '0';
            count += begun;
            zeros = *text == '0' ? zeros + 1 : 0;
            if (*text != '0')
                zeros = 0;
        }
    return count - zeros > 0 ? count - zeros : 1;
}

/* No shorter decimal reads back as the same double: the C library is asked for one digit less,
 * and for the nearest decimal with as many.  (At a power of two the gap below is half the gap
 * above, so that the shortest text need not be the rounded one: left out here, round trip above.)
 */
static void what_is_written_is_shortest_and_nearest(void **state) {
    shot_random random = shot_random_at(20, 3);
    for (int i = 0; i < 100000; i++) {
        double value = fabs(i % 2 == 0 ? finite_number(&random) : logged_number(&random));
        if (value == 0 || (bits_of(value) & 0xfffffffffffffu) == 0)
            continue;
        char ours[SHOT_NUMBER_ROOM + 1], theirs[64];
        ours[shot_number_write(ours, value)] = '\0';
        int digits = count_digits(ours);
        if (digits > 1) {
            snprintf(theirs, sizeof theirs, "%.*e", digits - 2, value);
            assert_true(strtod(theirs, NULL) != value);
        }
        snprintf(theirs, sizeof theirs, "%.*e", digits - 1, value);
        char again[SHOT_NUMBER_ROOM + 1];
        again[shot_number_write_digits(again, value, digits)] = '\0';
        assert_string_equal(again, ours);
        assert_true(strtod(theirs, NULL) == value);
    }
}

/* Rounding to n digits is the C library's rounding to n digits. */
static void rounding_agrees_with_the_c_library(void **state) {
    shot_random random = shot_random_at(20, 4);
    for (int i = 0; i < 100000; i++) {
        double value = i % 2 == 0 ? finite_number(&random) : logged_number(&random);
        int digits = 1 + (int)shot_random_below(&random, 17);
        char ours[SHOT_NUMBER_ROOM + 1], shortest[SHOT_NUMBER_ROOM + 1], theirs[64];
        ours[shot_number_write_digits(ours, value, digits)] = '\0';
        shortest[shot_number_write(shortest, value)] = '\0';
        snprintf(theirs, sizeof theirs, "%.*e", digits - 1, value);
        if (count_digits(shortest) <= digits)
            assert_string_equal(ours, shortest);
        else
            assert_int_equal(bits_of(strtod(ours, NULL)), bits_of(strtod(theirs, NULL)));
        assert_true(count_digits(ours) <= digits);
    }
}

/* In the middle of a line a number takes another path than at its end: same value, same extent,
 * whatever stands behind it, digits of the next field included. */
static void what_follows_a_number_does_not_matter(void **state) {
    static const char *const tails[] = {",0.25,77777777", "\n123456789", " 1",
                                        "e,12345678",     "e+",          "E-x1234567",
                                        "x.5e3,123",      ";",           "\xff\xff.25,123456",
                                        ":1234567",       "/9.9",        ""};
    static const char more[] = "\n0.1234567890123456,12.34567890123456,98765";
    shot_random random = shot_random_at(20, 5);
    for (int i = 0; i < 400000; i++) {
        char text[64], line[128];
        int digits = 1 + (int)shot_random_below(&random, i % 2 ? 9 : 22), at = 0;
        int point = (int)shot_random_below(&random, 10);
        if (i % 5 == 0)
            text[at++] = '-';
        for (int d = 0; d < digits; d++) {
            if (d == point)
                text[at++] = '.';
            text[at++] = (char)('0' + shot_random_below(&random, 10));
        }
        text[at] = '\0';
        const char *tail = tails[shot_random_below(&random, sizeof tails / sizeof *tails)];
        sprintf(line, "%s%s%s", text, tail, i % 3 ? more : "");
        double value = NAN;
        assert_ptr_equal(shot_number_read(line, line + strlen(line), &value), line + at);
        assert_int_equal(bits_of(value), bits_of(strtod(text, NULL)));
    }
    static const char *const none[] = {".,12345678", "..12345678", ",123456789", ".e12345678"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        double value;
        assert_null(shot_number_read(none[i], none[i] + 10, &value));
    }
}

/* A person's locale with a decimal comma changes nothing. */
static void the_locale_does_not_matter(void **state) {
    if (!use_comma_locale())
        skip();
    assert_reads("1.5", 1.5);
    assert_reads("0.30000000000000004", 0.1 + 0.2);
    assert_writes(1.5, "1.5");
    assert_writes(0.1 + 0.2, "0.30000000000000004");
    use_c_locale();
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_what_the_header_says_and_stops_there),
        cmocka_unit_test(stays_inside_the_text),
        cmocka_unit_test(reads_the_published_hard_cases),
        cmocka_unit_test(reads_the_edges_of_the_format),
        cmocka_unit_test(reads_any_count_of_digits),
        cmocka_unit_test(writes_the_notation_of_the_stream),
        cmocka_unit_test(writes_at_most_the_digits_asked_for),
        cmocka_unit_test(what_is_written_reads_back_the_same),
        cmocka_unit_test(hard_numbers_are_written_and_read_back),
        cmocka_unit_test(reading_agrees_with_the_c_library),
        cmocka_unit_test(long_decimals_agree_with_the_c_library),
        cmocka_unit_test(what_is_written_is_shortest_and_nearest),
        cmocka_unit_test(rounding_agrees_with_the_c_library),
        cmocka_unit_test(what_follows_a_number_does_not_matter),
        cmocka_unit_test(the_locale_does_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
