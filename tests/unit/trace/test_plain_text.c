/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a log holds reaches a person's page as text alone. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/trace/plain_text.h>

/* Unicode 15, table 3-7: lengths of well-formed sequences, and what is none. */
static void only_well_formed_utf8_is_a_character(void **state) {
    static const struct {
        const char *text;
        size_t length;
    } cases[] = {{"a", 1},
                 {"", 0},
                 {"\xc3\xa4", 2},
                 {"\xe2\x82\xac", 3},
                 {"\xf0\x9f\x82\xa1", 4},
                 {"\xc0\x80", 0},         /* two bytes for one */
                 {"\xed\xa0\x80", 0},     /* half of a pair */
                 {"\xf4\x90\x80\x80", 0}, /* beyond U+10FFFF */
                 {"\x80", 0},
                 {"\xe2\x82", 0}}; /* cut */
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_int_equal(shot_utf8_length(cases[i].text), cases[i].length);
}

static void expect_page(const char *from, const char *page, const char *line) {
    char text[64];
    snprintf(text, sizeof text, "%s", from);
    assert_int_equal(shot_plain_page(text), strlen(page));
    assert_string_equal(text, page);
    snprintf(text, sizeof text, "%s", from);
    assert_int_equal(shot_plain_line(text), strlen(line));
    assert_string_equal(text, line);
}

/* The introducers of ECMA-48 in both codings, bells and returns are shown and not obeyed. */
static void a_terminal_is_given_no_commands(void **state) {
    expect_page("a\x1b[31mb\r\x07\x7f", "a?[31mb???", "a?[31mb???");
    expect_page("a\xc2\x9b"
                "31mb\xc2\xa0",
                "a?31mb\xc2\xa0", "a?31mb\xc2\xa0");
    expect_page("one\n\ttwo \xc3\xa4", "one\n\ttwo \xc3\xa4", "one??two \xc3\xa4");
    expect_page("\xff\xc3", "??", "??");
}

static void a_cut_falls_between_characters(void **state) {
    assert_int_equal(shot_plain_columns("\xc3\xa4\xe2\x82\xac"
                                        "b",
                                        6),
                     3);
    assert_int_equal(shot_plain_cut("\xc3\xa4\xe2\x82\xac"
                                    "b",
                                    2),
                     5);
    assert_int_equal(shot_plain_cut("\xc3\xa4", 0), 0);
    assert_int_equal(shot_plain_cut("ab", 9), 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_well_formed_utf8_is_a_character),
        cmocka_unit_test(a_terminal_is_given_no_commands),
        cmocka_unit_test(a_cut_falls_between_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
