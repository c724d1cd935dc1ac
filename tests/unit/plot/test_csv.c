/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <string.h>

#include "plot/csv.h"

static shot_status read(const char *table, plot_csv *csv, shot_error *error) {
    shot_text text = {0};
    assert_int_equal(shot_text_add(&text, table), SHOT_OK);
    shot_status status = plot_csv_read(&text, csv, error);
    shot_text_free(&text);
    return status;
}

/* Protects: quoted fields with commas, quotes and line breaks, as RFC 4180, 2.5 to 2.7 have them;
 * either line ending; a last line without one; rows that are short. */
static void fields_are_those_of_the_standard(void **state) {
    plot_csv csv;
    assert_int_equal(read("a,b\r\n\"x, \"\"y\"\"\nz\",2.5\n\n3\n,", &csv, NULL), SHOT_OK);
    assert_int_equal(csv.columns, 2);
    assert_int_equal(csv.rows, 3);
    assert_string_equal(plot_csv_text(&csv, 0, 0), "x, \"y\"\nz");
    assert_close(plot_csv_number(&csv, 0, plot_csv_column(&csv, "b")), 2.5, 0);
    assert_true(isnan(plot_csv_number(&csv, 1, 1)));
    assert_string_equal(plot_csv_text(&csv, 2, 1), "");
    assert_string_equal(plot_csv_text(&csv, 0, plot_csv_column(&csv, "none")), "");
    plot_csv_free(&csv);
}

/* Protects: a table that is none gets a sentence. */
static void broken_tables_are_told(void **state) {
    plot_csv csv;
    shot_error error = {0};
    assert_int_equal(read("a,b\n1,2,3\n", &csv, &error), SHOT_ERR_SYNTAX);
    assert_string_equal(error.what, "line 2 of the table has 3 fields, its header 2");
    plot_csv_free(&csv);
    assert_int_equal(read("a,b\n1,\"2\n", &csv, &error), SHOT_ERR_SYNTAX);
    assert_string_equal(error.what, "the table ends inside a quoted field");
    plot_csv_free(&csv);
    assert_int_equal(read("", &csv, &error), SHOT_OK);
    assert_int_equal(csv.rows, 0);
    plot_csv_free(&csv);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fields_are_those_of_the_standard),
        cmocka_unit_test(broken_tables_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
