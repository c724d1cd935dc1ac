/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include "recording/recording_form.h"

/* Protects: a live log of text waits for no further bytes once it cannot be a recording. */
static void test_text_is_told_at_once(void **state) {
    const char *name;
    assert_int_equal(shot_recording_form("time", 4, &name), SHOT_RECORDING_NO);
    assert_int_equal(shot_recording_form("R", 1, &name), SHOT_RECORDING_PERHAPS);
    assert_int_equal(shot_recording_form("RIFLE,", 6, &name), SHOT_RECORDING_NO);
    assert_int_equal(shot_recording_form("caffeine,time", 13, &name), SHOT_RECORDING_NO);
    assert_null(name);
}

/* Protects: a form is told by its own bytes, and by no fewer. */
static void test_forms(void **state) {
    const char *name;
    assert_int_equal(shot_recording_form("RIFF\0\0\0\0WAV", 11, &name), SHOT_RECORDING_PERHAPS);
    assert_int_equal(shot_recording_form("RIFF\0\0\0\0WAVE", 12, &name), SHOT_RECORDING_YES);
    assert_string_equal(name, "WAV");
    assert_int_equal(shot_recording_form("fLaC", 4, &name), SHOT_RECORDING_YES);
    assert_string_equal(name, "FLAC");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text_is_told_at_once),
        cmocka_unit_test(test_forms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
