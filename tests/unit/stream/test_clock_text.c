/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: clocks of every usual form are read to the last digit, and their leaps (midnight,
 * summer time, a counter that begins anew) are no time. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/signal/random.h>

#include "stream/clock_text.h"

/* Read texts with the form guessed or said; compare each reading as exact decimal text. */
static void assert_clock(const char *name, const char *unit, const char *const *texts,
                         const char *const *seconds) {
    shot_clock clock = {0};
    shot_cell cells[16] = {{NULL, 0}};
    size_t count = 0;
    for (; texts[count] != NULL; count++)
        cells[count] = (shot_cell){texts[count], strlen(texts[count])};
    shot_text reasons = {0};
    if (name == NULL)
        assert_int_equal(shot_clock_guess(cells, count, unit, &clock, &reasons, NULL), SHOT_OK);
    else
        assert_true(shot_clock_set(&clock, name));
    for (size_t i = 0; i < count; i++) {
        shot_decimal reading;
        shot_clock_leap leap;
        char text[SHOT_DECIMAL_ROOM + 1] = "unreadable";
        if (shot_clock_read(&clock, texts[i], texts[i] + strlen(texts[i]), &reading, &leap))
            text[shot_decimal_write(text, &reading)] = '\0';
        assert_string_equal(text, seconds[i]);
    }
    shot_text_free(&reasons);
}

#define TEXTS(...)                                                                                 \
    (const char *const[]) {                                                                        \
        __VA_ARGS__, NULL                                                                          \
    }

static void numbers_get_the_unit_that_makes_sense(void **state) {
    assert_clock(NULL, "", TEXTS("0", "0.1", "0.2"), TEXTS("0", "0.1", "0.2"));
    assert_clock(NULL, "", TEXTS("0", "100", "201"), TEXTS("0", "0.1", "0.201"));
    assert_clock(NULL, "", TEXTS("5000", "25000", "45001"), TEXTS("0.005", "0.025", "0.045001"));
    assert_clock(NULL, "", TEXTS("0", "20000000", "40000000"), TEXTS("0", "0.02", "0.04"));
    assert_clock(NULL, "", TEXTS("1714544100.5", "1714544101"),
                 TEXTS("1714544100.5", "1714544101"));
    assert_clock(NULL, "", TEXTS("1714544100123", "1714544100223"),
                 TEXTS("1714544100.123", "1714544100.223"));
    assert_clock(NULL, "", TEXTS("1714544100123456789", "1714544100223456790"),
                 TEXTS("1714544100.123456789", "1714544100.22345679"));
    /* A microsecond counter of half an hour is no epoch of seconds. */
    assert_clock(NULL, "", TEXTS("1800000000", "1800100000"), TEXTS("1800", "1800.1"));
    /* A spreadsheet's 45413.25 is 2024-05-01 06:00; 1/864000 of a day is 0.1 s. */
    assert_clock(NULL, "", TEXTS("45413.250000000", "45413.250001157", "45413.250002315"),
                 TEXTS("1714543200", "1714543200.0999648", "1714543200.200016"));
    assert_clock(NULL, "", TEXTS("45413.25", "45413.35"), TEXTS("45413.25", "45413.35"));
    /* Nobody pulls a shot in 0.03 s: ten rows are a hand's. */
    assert_clock(NULL, "", TEXTS("0", "3", "6", "8", "10", "12", "16", "20", "25", "30"),
                 TEXTS("0", "3", "6", "8", "10", "12", "16", "20", "25", "30"));
    assert_clock(NULL, "min", TEXTS("0", "0.005"), TEXTS("0", "0.3"));
    assert_clock(NULL, "ms", TEXTS("0", "1"), TEXTS("0", "0.001"));
    assert_clock(NULL, "", TEXTS("", "7"), TEXTS("unreadable", "7"));
}

static void times_of_day_and_stopwatches(void **state) {
    assert_clock(NULL, "", TEXTS("0:58.9", "1:00.1"), TEXTS("58.9", "60.1"));
    assert_clock(NULL, "", TEXTS("08:15:00.123", "08:15:00,223"), TEXTS("29700.123", "29700.223"));
    assert_clock(NULL, "", TEXTS("100:00:00", "100:00:01"), TEXTS("360000", "360001"));
    assert_clock(NULL, "", TEXTS("12:00:00 AM", "1:00:00 am", "12:00:00 PM", "11:59:59.5 pm"),
                 TEXTS("0", "3600", "43200", "86399.5"));
    assert_clock("h:min", "", TEXTS("8:15", "8:16"), TEXTS("29700", "29760"));
    assert_clock(NULL, "", TEXTS("8:15 AM", "8:16 am", "1:00 PM"),
                 TEXTS("29700", "29760", "46800"));
    assert_clock(NULL, "hh:mm", TEXTS("8:15", "8:16"), TEXTS("29700", "29760"));
    assert_clock("h:min:s", "", TEXTS("8:75:00", "8:15:61", "8:15:", "x8:15:00", "8:15:00x"),
                 TEXTS("unreadable", "unreadable", "unreadable", "unreadable", "unreadable"));
}

/* ISO 8601-1:2019 forms; the epoch of 2024-05-01T06:15:00Z is 1714544100 by the formula of POSIX
 * (below). */
static void dates_in_their_usual_forms(void **state) {
    assert_clock(NULL, "",
                 TEXTS("2024-05-01T06:15:00Z", "2024-05-01T08:15:00.1+02:00",
                       "2024-05-01 01:45:00.2-0430", "20240501T061500.3Z",
                       "2024-05-01T08:15:00,4+02", "2024/05/01 06:15:00.5", "01.05.2024 06:15:00.6",
                       "1.5.2024  6:15:00.7 AM"),
                 TEXTS("1714544100", "1714544100.1", "1714544100.2", "1714544100.3", "1714544100.4",
                       "1714544100.5", "1714544100.6", "1714544100.7"));
    /* Zones by the names of universal time, and RFC 9557's word on where the offset comes from. */
    assert_clock(NULL, "",
                 TEXTS("2024-05-01 06:15:00 UTC", "2024-05-01 06:15:01.5GMT",
                       "2024-05-01T08:15:02+02:00[Tidewick/Quay]", "2024-05-01T06:15:03Z[u-ca=x]"),
                 TEXTS("1714544100", "1714544101.5", "1714544102", "1714544103"));
    assert_clock("date", "",
                 TEXTS("2024-05-01 06:15:00 UT", "2024-05-01T08:15:02[Tidewick/Quay]+02:00",
                       "2024-05-01T08:15:02+02:00]"),
                 TEXTS("unreadable", "unreadable", "unreadable"));
    /* With slashes: AM and PM, or a number over 12, tell which is the month (1714632300 is the next
     * day at 06:45). */
    assert_clock(NULL, "",
                 TEXTS("5/1/2024 6:15:00.7 AM", "05/01/2024 11:15:00 PM", "5/2/2024 6:45 am"),
                 TEXTS("1714544100.7", "1714605300", "1714632300"));
    assert_clock("date", "",
                 TEXTS("31/05/2024 06:15:00", "05/31/2024 06:15:00", "05/01/2024 06:15:00"),
                 TEXTS("1717136100", "1717136100", "unreadable"));
    assert_clock("date", "",
                 TEXTS("2023-02-29T00:00:00", "2024-02-29T00:00", "2024-13-01T00:00:00",
                       "2024-05-01", "2024-05-01T25:00:00x", "2000-02-29T00:00:00Z",
                       "1900-02-29T00:00:00Z"),
                 TEXTS("unreadable", "1709164800", "unreadable", "unreadable", "unreadable",
                       "951782400", "unreadable"));
}

/* IEEE Std 1003.1-2017, base definitions, 4.16, "Seconds Since the Epoch". */
static int64_t posix_epoch(int64_t year, int64_t yday, int64_t seconds) {
    int64_t y = year - 1900;
    return seconds + yday * 86400 + (y - 70) * 31536000 + ((y - 69) / 4) * 86400 -
           ((y - 1) / 100) * 86400 + ((y + 299) / 400) * 86400;
}

static void every_day_of_five_centuries_by_the_formula_of_posix(void **state) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    shot_clock clock = {0};
    shot_clock_set(&clock, "date");
    for (int year = 1970; year < 2470; year++) {
        int yday = 0;
        for (int month = 0; month < 12; month++) {
            bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
            for (int day = 1; day <= days[month] + (month == 1 && leap); day++, yday++) {
                char text[40], got[SHOT_DECIMAL_ROOM + 1], expected[40];
                shot_decimal seconds;
                shot_clock_leap leapt;
                sprintf(text, "%d-%02d-%02dT12:34:56Z", year, month + 1, day);
                assert_true(shot_clock_read(&clock, text, text + strlen(text), &seconds, &leapt));
                got[shot_decimal_write(got, &seconds)] = '\0';
                sprintf(expected, "%lld", (long long)posix_epoch(year, yday, 45296));
                assert_string_equal(got, expected);
            }
        }
    }
}

static void midnight_passes_in_both_directions(void **state) {
    assert_clock(
        NULL, "",
        TEXTS("23:59:59.9", "00:00:00.0", "23:59:59.95", "00:00:00.1", "23:59:59", "00:00:01"),
        TEXTS("86399.9", "86400", "86399.95", "86400.1", "86399", "86401"));
    /* A long pause within a day, and a stopwatch that is set back, are what they are. */
    assert_clock(NULL, "", TEXTS("01:00:00", "20:00:00"), TEXTS("3600", "72000"));
    assert_clock(NULL, "", TEXTS("0:00:30.0", "0:00:00.0"), TEXTS("30", "0"));
}

/* European Union: summer time ends at 03:00 and begins at 02:00 local time (Directive 2000/84/EC
 * with central European time). */
static void summer_time_is_no_time(void **state) {
    assert_clock(NULL, "",
                 TEXTS("2024-10-27 02:59:59.9", "2024-10-27 02:00:00.0", "2024-10-27 02:00:00.1"),
                 TEXTS("1729997999.9", "1729998000", "1729998000.1"));
    assert_clock(NULL, "", TEXTS("2024-03-31 01:59:59.9", "2024-03-31 03:00:00.0"),
                 TEXTS("1711850399.9", "1711850400"));
    assert_clock(NULL, "", TEXTS("2024-10-27T02:59:59.9+02:00", "2024-10-27T02:00:00.0+01:00"),
                 TEXTS("1729990799.9", "1729990800"));
    /* Rows set back by an hour at any other minute are disordered, not summer time. */
    assert_clock(NULL, "", TEXTS("2024-10-27 02:30:00.1", "2024-10-27 01:30:00.2"),
                 TEXTS("1729996200.1", "1729992600.2"));
}

static void counters_begin_anew(void **state) {
    assert_clock(NULL, "ms", TEXTS("65400", "65450", "65500", "14", "64"),
                 TEXTS("65.4", "65.45", "65.5", "65.55", "65.6"));
    assert_clock("us", "", TEXTS("4294900000", "4294950000", "32704", "82704"),
                 TEXTS("4294.9", "4294.95", "4295", "4295.05"));
    assert_clock("us", "", TEXTS("2147400000", "2147450000", "-2147467296"),
                 TEXTS("2147.4", "2147.45", "2147.5"));
    /* A clock that is set back to 0 in the middle is disorder, for others to mend. */
    assert_clock("ms", "", TEXTS("30000", "30050", "0", "50"), TEXTS("30", "30.05", "0", "0.05"));
    /* One row out of order beside the end of the counter. */
    assert_clock("ms", "", TEXTS("100", "150", "140"), TEXTS("0.1", "0.15", "0.14"));
}

static void a_modulus_that_was_said_is_believed(void **state) {
    shot_clock clock = {0};
    static const char *const texts[] = {"900", "990", "60", "30", "100"};
    static const char *const seconds[] = {"0.9", "0.99", "1.06", "1.03", "1.1"};
    shot_clock_set(&clock, "ms");
    assert_true(shot_clock_set_wrap(&clock, 1000));
    for (size_t i = 0; i < 5; i++) {
        shot_decimal reading;
        shot_clock_leap leap;
        char text[SHOT_DECIMAL_ROOM + 1];
        assert_true(
            shot_clock_read(&clock, texts[i], texts[i] + strlen(texts[i]), &reading, &leap));
        text[shot_decimal_write(text, &reading)] = '\0';
        assert_string_equal(text, seconds[i]);
        assert_int_equal(leap, i == 2 ? SHOT_LEAP_WRAP : SHOT_LEAP_NONE);
    }
    shot_clock day = {0};
    shot_clock_set(&day, "h:min:s");
    assert_false(shot_clock_set_wrap(&day, 1000));
}

static void what_is_no_clock_is_refused(void **state) {
    shot_clock clock = {0};
    shot_text reasons = {0};
    shot_error error = {0};
    shot_cell cells[] = {{"soak", 4}, {"ramp", 4}, {"1", 1}};
    assert_int_equal(shot_clock_guess(cells, 3, "", &clock, &reasons, &error), SHOT_ERR_SYNTAX);
    assert_non_null(strstr(error.what, "'soak'"));
    shot_cell numbers[] = {{"1", 1}, {"2", 1}};
    assert_int_equal(shot_clock_guess(numbers, 2, "bar", &clock, &reasons, &error), SHOT_ERR_UNIT);
    shot_text_free(&reasons);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_get_the_unit_that_makes_sense),
        cmocka_unit_test(times_of_day_and_stopwatches),
        cmocka_unit_test(dates_in_their_usual_forms),
        cmocka_unit_test(every_day_of_five_centuries_by_the_formula_of_posix),
        cmocka_unit_test(midnight_passes_in_both_directions),
        cmocka_unit_test(summer_time_is_no_time),
        cmocka_unit_test(counters_begin_anew),
        cmocka_unit_test(a_modulus_that_was_said_is_believed),
        cmocka_unit_test(what_is_no_clock_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
