/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a failure carries its code and sentence, keeps the place already noted, and every code
 * has a text of its own; a sentence is whole text, with a decimal point, in any locale. */
#include <support/check.h>
#include <support/comma_locale.h>

#include <string.h>

#include <shottrace/status.h>

static void fail_fills_code_and_sentence_and_keeps_place(void **state) {
    shot_error error = {.source = "day.csv", .line = 412};
    assert_int_equal(shot_fail(&error, SHOT_ERR_SYNTAX, "flow is '%s'", "n/a"), SHOT_ERR_SYNTAX);
    assert_int_equal(error.code, SHOT_ERR_SYNTAX);
    assert_string_equal(error.what, "flow is 'n/a'");
    assert_string_equal(error.source, "day.csv");
    assert_int_equal(error.line, 412);
    assert_int_equal(shot_fail(NULL, SHOT_ERR_RANGE, "x"), SHOT_ERR_RANGE);
}

static void every_code_has_its_own_text(void **state) {
    for (int a = SHOT_OK; a <= SHOT_ERR_CLOSED; a++) {
        assert_string_not_equal(shot_status_text((shot_status)a), "unknown failure");
        for (int b = SHOT_OK; b < a; b++)
            assert_string_not_equal(shot_status_text((shot_status)a),
                                    shot_status_text((shot_status)b));
    }
}

/* A message of 399 bytes and more ends in a whole character of UTF-8: here of 2, 3 and 4 bytes. */
static void a_long_sentence_is_cut_behind_a_character(void **state) {
    static const char *const letters[] = {"\xc3\xa9", "\xe2\x82\xac", "\xf0\x9d\x84\x9e"};
    shot_error error;
    for (size_t i = 0; i < 3; i++)
        for (size_t shift = 0; shift < 4; shift++) {
            char text[600] = "";
            const size_t length = strlen(letters[i]);
            memset(text, 'x', shift);
            for (size_t at = shift; at + length < sizeof text; at += length)
                memcpy(text + at, letters[i], length + 1);
            shot_fail(&error, SHOT_ERR_DATA, "%s", text);
            const size_t kept = strlen(error.what);
            assert_true(kept >= sizeof error.what - 4 && kept < sizeof error.what);
            assert_int_equal((kept - shift) % length, 0);
            assert_memory_equal(error.what, text, kept);
        }
}

static void a_sentence_has_a_decimal_point_in_any_locale(void **state) {
    shot_error error;
    if (!use_comma_locale())
        skip();
    shot_fail(&error, SHOT_ERR_DATA, "%g s", 0.5);
    assert_string_equal(error.what, "0.5 s");
    char figure[8];
    snprintf(figure, sizeof figure, "%g", 0.5);
    assert_string_equal(figure, "0,5"); /* the caller's own locale is as it was */
    use_c_locale();
}

/* Whose message names the shot and its file: one answer for gate, crew and tools. */
static void data_and_units_are_those_of_a_shot(void **state) {
    for (int code = SHOT_OK; code <= SHOT_ERR_CLOSED; code++)
        assert_int_equal(shot_status_of_shot((shot_status)code),
                         code == SHOT_ERR_DATA || code == SHOT_ERR_UNIT);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fail_fills_code_and_sentence_and_keeps_place),
        cmocka_unit_test(every_code_has_its_own_text),
        cmocka_unit_test(data_and_units_are_those_of_a_shot),
        cmocka_unit_test(a_long_sentence_is_cut_behind_a_character),
        cmocka_unit_test(a_sentence_has_a_decimal_point_in_any_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
