/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the dialect of a table is worked out from its first lines, and what was said is kept.
 * The samples are in the usual hands of loggers and spreadsheets (invented). */
#include <support/check.h>

#include <string.h>

#include "stream/dialect.h"

typedef struct expectation {
    const char *text;
    char delimiter, decimal, comment;
    shot_header_choice header;
    bool units;
    size_t skipped, columns, rows;
} expectation;

static void assert_guess(const expectation *e, shot_dialect dialect) {
    shot_text reasons = {0};
    size_t rows;
    assert_int_equal(shot_dialect_guess(e->text, strlen(e->text), true, &dialect, &rows, &reasons),
                     SHOT_OK);
    if (dialect.delimiter != e->delimiter || dialect.decimal != e->decimal ||
        dialect.comment != e->comment || dialect.header != e->header ||
        dialect.units_row != e->units || dialect.skipped != e->skipped ||
        dialect.columns != e->columns || rows != e->rows)
        fail_msg("%s\nis read with '%c' '%c' '%c' header %d units %d skipped %zu columns %zu rows "
                 "%zu\n%s",
                 e->text, dialect.delimiter, dialect.decimal, dialect.comment, dialect.header,
                 dialect.units_row, dialect.skipped, dialect.columns, rows, reasons.bytes);
    shot_text_free(&reasons);
}

static void tables_are_understood(void **state) {
    static const expectation cases[] = {
        {"time,p\n0,0.1\n0.1,0.2\n", ',', '.', '#', SHOT_HEADER_ROW, false, 0, 2, 2},
        {"time;p\n0;0,1\n0,1;0,2\n", ';', ',', '#', SHOT_HEADER_ROW, false, 0, 2, 2},
        {"time;p\n0;0.1\n0.1;0.2\n", ';', '.', '#', SHOT_HEADER_ROW, false, 0, 2, 2},
        {"time\tp\n0\t0,1\n0,1\t0,2\n", '\t', ',', '#', SHOT_HEADER_ROW, false, 0, 2, 2},
        {"time|p|w\n0|1|2\n1|2|3\n", '|', '\0', '#', SHOT_HEADER_ROW, false, 0, 3, 2},
        {"time p w\n0 1 2.5\n1 2 3.5\n", ' ', '.', '#', SHOT_HEADER_ROW, false, 0, 3, 2},
        {"time;p\n0;1\n1;2\n", ';', '\0', '#', SHOT_HEADER_ROW, false, 0, 2, 2},
        /* Text that holds other separators, in quotes and without. */
        {"time;p;note\n0;1,5;\"a, b\"\n1;2,5;c, d, e\n", ';', ',', '#', SHOT_HEADER_ROW, false, 0,
         3, 2},
        {"time,p,note\n0,1.5,\"x;y;z\"\n1,2.5,\n", ',', '.', '#', SHOT_HEADER_ROW, false, 0, 3, 2},
        /* Dates hold blanks, times colons. */
        {"time,p\n2024-05-01 08:15:00,1\n2024-05-01 08:15:01,2\n", ',', '.', '#', SHOT_HEADER_ROW,
         false, 0, 2, 2},
        {"time;p\n08:15:00,5;1,5\n08:15:01,0;2,5\n", ';', ',', '#', SHOT_HEADER_ROW, false, 0, 2,
         2},
        /* Preambles, units, comments. */
        {"Bench 2\nDose;18\n\ntime;p;w\ns;bar;g\n0;1;0\n1;2;0\n", ';', '\0', '#', SHOT_HEADER_ROW,
         true, 3, 3, 2},
        {"Name;Quay\nDose;18,2\ntime;p\n0;1,5\n1;2,5\n", ';', ',', '#', SHOT_HEADER_ROW, false, 2,
         2, 2},
        {"% t p\n0 1.5\n1 2.5\n", ' ', '.', '%', SHOT_HEADER_COMMENT, false, 1, 2, 2},
        {"0,1.5\n1,2.5\n", ',', '.', '#', SHOT_HEADER_NONE, false, 0, 2, 2},
        /* Decimal commas among commas stand in quotes; thousands may, too. */
        {"t,p\n\"0,5\",\"1,25\"\n\"1,0\",\"1,5\"\n", ',', ',', '#', SHOT_HEADER_ROW, false, 0, 2,
         2},
        {"t,p\n0,\"1,250\"\n1,\"1,500\"\n", ',', '.', '#', SHOT_HEADER_ROW, false, 0, 2, 2},
        /* A date is no title, nor is a name above a row with another name of time. */
        {"Date,2026-05-04\nDose,18\nElapsed,p\n0,1.5\n1,2.5\n", ',', '.', '#', SHOT_HEADER_ROW,
         false, 2, 2, 2},
        {"Date,May 4\nTime,7:30 AM\nElapsed,p\n0,1.5\n1,2.5\n", ',', '.', '#', SHOT_HEADER_ROW,
         false, 2, 2, 2},
        /* One column. */
        {"pressure\n1.5\n2.5\n", ',', '.', '#', SHOT_HEADER_ROW, false, 0, 1, 2},
        {"1,5\n2,5\n3,5\n", ',', '.', '#', SHOT_HEADER_NONE, false, 0, 2, 3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_guess(&cases[i], (shot_dialect){0});
}

static void what_was_said_is_kept(void **state) {
    static const expectation comma = {
        "1,5\n2,5\n3,5\n", ';', ',', '#', SHOT_HEADER_NONE, false, 0, 1, 3};
    assert_guess(&comma, (shot_dialect){.delimiter = ';', .decimal = ','});
    static const expectation skip = {
        "time,p\n0,1\n1,2\n", ',', '.', '#', SHOT_HEADER_NONE, false, 2, 2, 2};
    assert_guess(&skip,
                 (shot_dialect){.header = SHOT_HEADER_NONE, .skipped = 2, .skipped_chosen = true});
}

/* A sample may end within a line, which then tells nothing. */
static void half_a_line_is_no_row(void **state) {
    static const char text[] = "time;p\n0;0,1\n1;0,2\n2,3,4,5";
    shot_dialect dialect = {0};
    shot_text reasons = {0};
    size_t rows;
    assert_int_equal(shot_dialect_guess(text, sizeof text - 1, false, &dialect, &rows, &reasons),
                     SHOT_OK);
    assert_int_equal(dialect.delimiter, ';');
    assert_int_equal(rows, 2);
    shot_text_free(&reasons);
}

/* No table, no crash. */
static void nothing_is_found_in_nothing(void **state) {
    static const char *const texts[] = {
        "", "\n\n", "#\n#\n", "Dear diary,\nthe shot was good.\n", "\"", ",,,\n,,,\n"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        shot_dialect dialect = {0};
        shot_text reasons = {0};
        size_t rows = 7;
        assert_int_equal(
            shot_dialect_guess(texts[i], strlen(texts[i]), true, &dialect, &rows, &reasons),
            SHOT_OK);
        assert_int_equal(rows, 0);
        shot_text_free(&reasons);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_are_understood),
        cmocka_unit_test(what_was_said_is_kept),
        cmocka_unit_test(half_a_line_is_no_row),
        cmocka_unit_test(nothing_is_found_in_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
