/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a picture explains the signs that it has, and no others. */
#include <support/check.h>

#include <math.h>

#include "plot/legend.h"

static shot_mark mark_of(char *kind, char *id) {
    shot_mark mark = shot_mark_none();
    mark.kind = kind;
    mark.id = id;
    mark.from = 1;
    return mark;
}

static void assert_legend(const shot_mark_list *marks, const char *expected) {
    shot_text text = {0};
    assert_int_equal(shot_text_add(&text, ""), SHOT_OK);
    assert_int_equal(plot_legend_write(marks, true, &text), SHOT_OK);
    assert_string_equal(text.bytes, expected);
    shot_text_free(&text);
}

static void only_signs_that_are_drawn(void **state) {
    shot_mark_list marks = {0};
    assert_legend(&marks, "");
    shot_mark drop = mark_of("first-drip", "d1"), knee = mark_of("knee", "k1");
    assert_int_equal(shot_mark_list_add(&marks, &knee), SHOT_OK);
    assert_legend(&marks, "rings: knees, where the slope breaks");
    drop.from_low = 0.9;
    drop.from_high = 1.1;
    assert_int_equal(shot_mark_list_add(&marks, &drop), SHOT_OK);
    assert_legend(&marks, "dotted: first drop \xc2\xb7 rings: knees, where the slope breaks"
                          " \xc2\xb7 thin lines: intervals of the estimates");
    shot_mark_list_free(&marks);
}

/* A short phase has no room for its name: all are told. */
static void phases_are_told_in_their_order(void **state) {
    shot_mark_list marks = {0};
    shot_mark ramp = mark_of("ramp", "r1"), fill = mark_of("fill", "f1");
    assert_int_equal(shot_mark_list_add(&marks, &ramp), SHOT_OK);
    assert_int_equal(shot_mark_list_add(&marks, &fill), SHOT_OK);
    assert_legend(&marks, "phases: fill, ramp (main rise)");
    shot_mark_list_free(&marks);
}

/* A mark that another took back is not drawn. */
static void withdrawn_marks_have_no_sign(void **state) {
    shot_mark_list marks = {0};
    shot_mark surge = mark_of("surge", "surge-1"), note = mark_of("note", "n1");
    note.refines = "surge-1";
    assert_int_equal(shot_mark_list_add(&marks, &surge), SHOT_OK);
    assert_int_equal(shot_mark_list_add(&marks, &note), SHOT_OK);
    assert_int_equal(shot_mark_list_keep_standing(&marks), SHOT_OK); /* as shot-plot does */
    assert_legend(&marks, "");
    shot_mark_list_free(&marks);
}

/* What had no room is not promised. */
static void figures_without_room_are_told(void **state) {
    shot_mark_list marks = {0};
    shot_text text = {0};
    shot_mark pulse = mark_of("pulse", "p1");
    assert_int_equal(shot_mark_list_add(&marks, &pulse), SHOT_OK);
    assert_legend(&marks, "behind a pulse: lowest pressure after it");
    assert_int_equal(plot_legend_write(&marks, false, &text), SHOT_OK);
    assert_string_equal(text.bytes, "behind a pulse: lowest pressure after it, where it has room");
    shot_text_free(&text);
    shot_mark_list_free(&marks);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_signs_that_are_drawn),
        cmocka_unit_test(phases_are_told_in_their_order),
        cmocka_unit_test(withdrawn_marks_have_no_sign),
        cmocka_unit_test(figures_without_room_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
