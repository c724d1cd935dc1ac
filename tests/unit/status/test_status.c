/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a failure carries its code and sentence, keeps the place already noted, and every code
 * has a text of its own. */
#include <support/check.h>

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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fail_fills_code_and_sentence_and_keeps_place),
        cmocka_unit_test(every_code_has_its_own_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
