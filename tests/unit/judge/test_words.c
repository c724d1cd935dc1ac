/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: numbers for people show what is known and no more, in any locale. */
#include <support/check.h>
#include <support/comma_locale.h>

#include <string.h>

#include "judge/words.h"

static void check_number(double value, int decimals, const char *expected) {
    shot_text text = {0};
    assert_int_equal(shot_words_number(&text, value, decimals), SHOT_OK);
    assert_string_equal(text.bytes, expected);
    shot_text_free(&text);
}

static void two_digits_of_the_scatter_are_shown(void **state) {
    assert_int_equal(shot_words_decimals(0.32, 7.4), 2);
    assert_int_equal(shot_words_decimals(0.049, 9), 3);
    assert_int_equal(shot_words_decimals(12, 300), 0);
    assert_int_equal(shot_words_decimals(250, 3000), 0);
    assert_int_equal(shot_words_decimals(NAN, 18), 0);    /* a count stays whole */
    assert_int_equal(shot_words_decimals(NAN, 18.25), 1); /* else three digits of the value */
    assert_int_equal(shot_words_decimals(0, 0.0123), 4);
    assert_int_equal(shot_words_decimals(1e-30, 1), 9);
    assert_int_equal(shot_words_decimals(4e-15, 3.2e-14), 16);
}

static void numbers_round_and_have_no_negative_zero(void **state) {
    use_comma_locale(); /* where there is one; else this says less */
    check_number(7.456, 2, "7.46");
    check_number(-0.004, 2, "0.00");
    check_number(-0.006, 2, "-0.01");
    check_number(1234567.5, 0, "1234568");
    check_number(0.05, 3, "0.050");
    check_number(NAN, 2, "-");
    check_number(1e20, 1, "1e+20");
    check_number(-3.24567e-14, 16, "-3.25e-14"); /* a permeability, in m2 */
    check_number(3e-18, 16, "0");
    check_number(-1.6e-16, 16, "-2e-16");
    use_c_locale();
}

static void check_p(double p, const char *expected) {
    shot_text text = {0};
    assert_int_equal(shot_words_p(&text, p), SHOT_OK);
    assert_string_equal(text.bytes, expected);
    shot_text_free(&text);
}

static void chances_have_two_digits(void **state) {
    check_p(0.0004, "p < 0.001");
    check_p(0.00234, "p = 0.0023");
    check_p(0.0123, "p = 0.012");
    check_p(0.345, "p = 0.35");
    check_p(0.9999, "p = 1");
    check_p(NAN, "p -");
}

static void columns_line_up_whatever_the_letters(void **state) {
    shot_text text = {0};
    assert_int_equal(shot_words_spread(&text, 7.4, 0.31, 2), SHOT_OK);
    assert_int_equal(shot_words_pad(&text, 0, 14), SHOT_OK);
    assert_int_equal(text.length, 15); /* the plus-minus sign has two bytes and one column */
    assert_int_equal(shot_text_add(&text, "x"), SHOT_OK);
    assert_int_equal(shot_words_pad(&text, 0, 3), SHOT_OK); /* too late: two spaces */
    assert_int_equal(shot_words_end_line(&text), SHOT_OK);
    assert_string_equal(text.bytes, "7.40 \xc2\xb1 0.31   x\n");
    shot_text_free(&text);
}

/* Odd items do not belong. */
static shot_status say_even(shot_text *words, const void *user, size_t i) {
    return i % 2 == 0 ? shot_text_add(words, ((const char *const *)user)[i]) : SHOT_OK;
}

static void a_list_has_what_belongs_to_it(void **state) {
    static const char *const names[] = {"one", "two", "three"};
    shot_text text = {0};
    size_t said = 5;
    assert_int_equal(
        shot_words_list(&text, "Of these: ", (shot_words_items){3, say_even, names}, &said, 2, 4),
        SHOT_OK);
    assert_string_equal(text.bytes, "  Of these: one; three\n");
    assert_int_equal(said, 7);
    const size_t length = text.length;
    assert_int_equal(
        shot_words_list(&text, "None: ", (shot_words_items){0, say_even, names}, &said, 2, 4),
        SHOT_OK);
    assert_int_equal(text.length, length);
    assert_int_equal(said, 7);
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_digits_of_the_scatter_are_shown),
        cmocka_unit_test(numbers_round_and_have_no_negative_zero),
        cmocka_unit_test(chances_have_two_digits),
        cmocka_unit_test(columns_line_up_whatever_the_letters),
        cmocka_unit_test(a_list_has_what_belongs_to_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
