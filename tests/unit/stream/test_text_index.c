/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: texts keep the number of their first coming, however many there are. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include "stream/text_index.h"

static shot_cell cell(const char *text) {
    return (shot_cell){text, strlen(text)};
}

static void texts_keep_their_numbers(void **state) {
    enum { COUNT = 5000 };
    shot_text_index index = {0};
    size_t number;
    char text[32];
    assert_int_equal(shot_text_index_find(&index, cell("x")), SHOT_NOT_INDEXED);
    for (int round = 0; round < 2; round++)
        for (size_t i = 0; i < COUNT; i++) {
            snprintf(text, sizeof text, "name-%zu", i);
            assert_int_equal(shot_text_index_add(&index, cell(text), &number), SHOT_OK);
            assert_int_equal(number, i);
        }
    assert_int_equal(index.count, COUNT);
    for (size_t i = 0; i < COUNT; i++) {
        snprintf(text, sizeof text, "name-%zu", i);
        shot_cell found = shot_text_index_text(&index, i);
        assert_int_equal(found.length, strlen(text));
        assert_memory_equal(found.text, text, found.length);
        assert_int_equal(shot_text_index_find(&index, cell(text)), i);
    }
    assert_int_equal(shot_text_index_find(&index, cell("name-")), SHOT_NOT_INDEXED);
    shot_text_index_clear(&index);
    assert_int_equal(shot_text_index_find(&index, cell("name-1")), SHOT_NOT_INDEXED);
    assert_int_equal(shot_text_index_add(&index, cell(""), &number), SHOT_OK);
    assert_int_equal(shot_text_index_add(&index, cell("name-1"), &number), SHOT_OK);
    assert_int_equal(number, 1);
    assert_int_equal(shot_text_index_text(&index, 0).length, 0);
    shot_text_index_free(&index);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_keep_their_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
