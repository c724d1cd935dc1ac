/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a line of CSV by the rules of RFC 4180, section 2, and what breaks them. */
#include <support/check.h>

#include <string.h>

#include <shottrace/trace/csv_line.h>

static void cuts(const char *line, size_t count, const char *const *fields) {
    shot_csv_line got = {0};
    assert_int_equal(shot_csv_line_read(&got, line, strlen(line)), SHOT_OK);
    assert_int_equal(got.count, count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(got.field[i], fields[i]);
    shot_csv_line_free(&got);
}

/* Rules 4 to 7: spaces belong to a field; commas, line breaks and doubled quotes inside quotes. */
static void the_rules_of_rfc_4180(void **state) {
    cuts("aaa,bbb,ccc", 3, (const char *[]){"aaa", "bbb", "ccc"});
    cuts("\"aaa\",\"b\r\nbb\",\"ccc\"", 3, (const char *[]){"aaa", "b\r\nbb", "ccc"});
    cuts("\"aaa\",\"b\"\"bb\",\"c,c\"", 3, (const char *[]){"aaa", "b\"bb", "c,c"});
    cuts(" a , b", 2, (const char *[]){" a ", " b"});
    cuts(",,", 3, (const char *[]){"", "", ""});
    cuts("", 1, (const char *[]){""});
}

/* No byte is lost where the rules are broken. */
static void broken_quotes(void **state) {
    cuts("\"open,x", 1, (const char *[]){"open,x"});
    cuts("a\"b,c", 2, (const char *[]){"a\"b", "c"});
    cuts("\"a\"b,c", 2, (const char *[]){"ab", "c"});
}

static void a_field_is_found_by_its_text(void **state) {
    shot_csv_line got = {0};
    assert_int_equal(shot_csv_line_read(&got, "shot,kind,shot", 14), SHOT_OK);
    assert_int_equal(shot_csv_line_find(&got, "shot"), 0);
    assert_int_equal(shot_csv_line_find(&got, "kind"), 1);
    assert_int_equal(shot_csv_line_find(&got, "kin"), -1);
    shot_csv_line_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_rules_of_rfc_4180),
        cmocka_unit_test(broken_quotes),
        cmocka_unit_test(a_field_is_found_by_its_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
