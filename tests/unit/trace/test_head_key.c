/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a person may say about a shot, and that known figures come in their unit. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/head_key.h>

static void keys_that_may_be_set(void **state) {
    static const char *const fine[] = {"dose", "scale.lag", "my-own_key2", "x"};
    static const char *const not_fine[] = {"",        "Dose",  "2nd",        "a b",   "a:b",
                                           "history", "mark",  "t0",         "noise", "shot",
                                           "end",     "close", "d\xc3\xb6se"};
    for (size_t i = 0; i < sizeof fine / sizeof *fine; i++)
        assert_int_equal(shot_head_key_check(fine[i], NULL), SHOT_OK);
    for (size_t i = 0; i < sizeof not_fine / sizeof *not_fine; i++)
        assert_int_equal(shot_head_key_check(not_fine[i], NULL), SHOT_ERR_SYNTAX);
}

static void is_written(const char *key, const char *value, const char *expected) {
    shot_text text = {0};
    assert_int_equal(shot_head_key_value(key, value, &text, NULL), SHOT_OK);
    assert_string_equal(text.bytes, expected);
    shot_text_free(&text);
}

/* 1 oz is 28.349523125 g: NIST SP 811, appendix B.8. */
static void known_figures_come_in_their_unit(void **state) {
    is_written("dose", "18.2", "18.2 g");
    is_written("dose", " 1 oz ", "28.349523125 g");
    is_written("basket", "5.8cm", "58 mm");
    is_written("scale.lag", "300ms", "0.3 s");
    is_written("score", "82", "82");
    is_written("gauge", "pump", "pump");
    is_written("taste", "18 bar, sour", "18 bar, sour");
}

/* A table's cell may hold line breaks.  A filter in one process has to see what one behind a pipe
 * reads. */
static void texts_stand_in_one_line(void **state) {
    is_written("taste", "sour\nthen\rsweet", "sour then sweet");
    is_written("taste", " \n sour ", "sour ");
    is_written("taste", "", "");
}

static void what_cannot_be(void **state) {
    static const char *const pairs[][2] = {{"dose", "heavy"}, {"dose", "9bar"}, {"dose", ""},
                                           {"score", "good"}, {"gauge", "lid"}, {"dose", "18200"},
                                           {"basket", "5.8"}, {"tds", "180 %"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        shot_text text = {0};
        shot_error error = {0};
        assert_int_equal(shot_head_key_value(pairs[i][0], pairs[i][1], &text, &error),
                         SHOT_ERR_UNIT);
        assert_non_null(strstr(error.what, pairs[i][0]));
        shot_text_free(&text);
    }
}

/* What stands in a log is judged by the same rules, and by those of the keys that filters write. */
static void what_a_log_says_is_judged(void **state) {
    static const char *const fine[][2] = {{"dose", "18.2 g"},
                                          {"gauge", "puck"},
                                          {"t0", "1700000000.25"},
                                          {"score", "-3"},
                                          {"noise", "pressure sd=0.03 corr=0.05s"},
                                          {"my-own", "moon"}};
    static const char *const odd[][2] = {{"dose", "18200 g"},
                                         {"gauge", "moon"},
                                         {"t0", "abc"},
                                         {"t0", "12 s"},
                                         {"score", "abc"},
                                         {"noise", "pressure"},
                                         {"noise", "pressure sd=abc"}};
    for (size_t i = 0; i < sizeof fine / sizeof *fine; i++)
        assert_int_equal(shot_head_key_judge(fine[i][0], fine[i][1], NULL), SHOT_OK);
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++) {
        shot_error error = {0};
        assert_int_equal(shot_head_key_judge(odd[i][0], odd[i][1], &error), SHOT_ERR_UNIT);
        assert_non_null(strstr(error.what, odd[i][1]));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_that_may_be_set),
        cmocka_unit_test(known_figures_come_in_their_unit),
        cmocka_unit_test(texts_stand_in_one_line),
        cmocka_unit_test(what_cannot_be),
        cmocka_unit_test(what_a_log_says_is_judged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
