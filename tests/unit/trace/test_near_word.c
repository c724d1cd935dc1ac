/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a slip of the finger is told from a word of one's own. */
#include <support/check.h>

#include "trace/near_word.h"

static void one_letter_is_a_slip(void **state) {
    assert_true(near_word("first-drop", "first-drip"));
    assert_true(near_word("frist-drip", "first-drip"));
    assert_true(near_word("firstdrip", "first-drip"));
    assert_true(near_word("First-Drip", "first-drip"));
    assert_true(near_word("pre-infusion", "preinfusion"));
    assert_true(near_word("brews", "brew"));
    assert_true(near_word("bre", "brew"));
    assert_true(near_word("rbew", "brew"));
}

static void two_letters_are_another_word(void **state) {
    assert_false(near_word("first-drip", "first-drip"));
    assert_false(near_word("first-taste", "first-drip"));
    assert_false(near_word("wobble", "brew"));
    assert_false(near_word("br", "brew"));
    assert_false(near_word("", "ab"));
    assert_false(near_word("brwe", "bewr"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_letter_is_a_slip),
        cmocka_unit_test(two_letters_are_another_word),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
