/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <string.h>

#include "recording/recording_window.h"

enum { PIECE = 64 * 1024 };

/* Protects: a settled reader takes bounded memory, however long the stream. */
static void test_settled_memory_is_bounded(void **state) {
    static char piece[PIECE], out[PIECE];
    shot_window window = {.settled = true};
    for (int i = 0; i < 1000; i++) {
        memset(piece, i % 251, sizeof piece);
        assert_int_equal(shot_window_add(&window, piece, sizeof piece), SHOT_OK);
        assert_int_equal(shot_window_lacks(&window, PIECE), 0);
        assert_int_equal(shot_window_read(&window, out, PIECE), PIECE);
        assert_memory_equal(out, piece, PIECE);
        assert_true(window.held.length < 1024 * 1024);
    }
    shot_window_free(&window);
}

/* Protects: a header that leads far past the sound meets the end of the stream there, and can go
 * back to where the sound begins. */
static void test_header_looks_ahead_and_back(void **state) {
    char out[8];
    shot_window window = {.place = 0};
    assert_int_equal(shot_window_add(&window, "headersound", 11), SHOT_OK);
    assert_int_equal(shot_window_read(&window, out, 6), 6);
    window.place = (int64_t)1 << 40;
    assert_int_equal(shot_window_lacks(&window, 8), 0);
    assert_int_equal(shot_window_read(&window, out, 8), 0);
    window.place = 6;
    assert_int_equal(shot_window_lacks(&window, 8), 3);
    assert_int_equal(shot_window_read(&window, out, 5), 5);
    assert_memory_equal(out, "sound", 5);
    shot_window_free(&window);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_settled_memory_is_bounded),
        cmocka_unit_test(test_header_looks_ahead_and_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
