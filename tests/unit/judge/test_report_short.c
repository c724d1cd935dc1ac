/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the first lines of a report say what a person asks first, and nothing more surely than
 * the figures below them. */
#include <support/check.h>

#include <string.h>

#include "judge/report_parts.h"

static shot_text short_of(shot_measure_list *list) {
    shot_text text = {0};
    shot_text_add(&text, "");
    assert_int_equal(shot_report_write_short(&(shot_head){0}, list, &text), SHOT_OK);
    shot_measure_list_free(list);
    return text;
}

static void the_usual_questions_are_answered(void **state) {
    shot_measure_list list = {0};
    shot_measure_list_add(&list, "beverage.mass", 36.24, NAN, NAN, NULL);
    shot_measure_list_add(&list, "shot.time", 27.56, 27.5, 27.6, NULL);
    shot_measure_list_add(&list, "brew.ratio", 2.01, NAN, NAN, NULL);
    shot_measure_list_add(&list, "preinfusion.time", 6.24, 6.2, 6.3, NULL);
    shot_measure_list_add(&list, "brew.time", 21.3, 21.2, 21.4, NULL);
    shot_measure_list_add(&list, "brew.pressure", 8.96, 8.95, 8.97, NULL);
    shot_measure_list_add(&list, "brew.pressure.slope", 0, -0.01, 0.01, "held");
    shot_measure_list_add(&list, "first-drip.time", 7.1, 6.8, 7.4, NULL);
    shot_measure_list_add(&list, "surge.count", 0, NAN, NAN, NULL);
    shot_text text = short_of(&list);
    assert_string_equal(
        text.bytes,
        "  In short: 36.2 g, 2.0 times the dose; 27.6 s from the water to the end of the\n"
        "    brew. Pre-wet for 6.2 s, brewed for 21.3 s at 9.0 bar (held). First drop\n"
        "    7.1 s after the water. No channel shows.\n");
    shot_text_free(&text);
}

/* A length whose interval is wider than itself is left to the figures; one that is known to a
 * second or worse has no tenths. */
static void what_is_hardly_known_is_not_told_as_a_fact(void **state) {
    shot_measure_list list = {0};
    shot_measure_list_add(&list, "preinfusion.time", 6.9, 3.3, 10.5, NULL);
    shot_measure_list_add(&list, "brew.time", 13.2, 11, 15.3, NULL);
    shot_measure_list_add(&list, "brew.pressure", 8.4, 8.3, 8.5, NULL);
    shot_text text = short_of(&list);
    assert_string_equal(text.bytes, "  In short: Brewed for 13 s at 8.4 bar.\n");
    shot_text_free(&text);
}

/* A surge that may be a pressure that was raised is told as such. */
static void a_doubtful_channel_is_doubtful(void **state) {
    shot_measure_list list = {0};
    shot_measure_list_add(&list, "surge.count", 2, NAN, NAN, NULL);
    shot_measure_list_add(&list, "surge.loss", 20, NAN, NAN, "pressure is not known");
    shot_measure_list_add(&list, "surge.first", 12.34, 12.1, 12.5, NULL);
    shot_text text = short_of(&list);
    assert_string_equal(text.bytes,
                        "  In short: Perhaps 2 channels opened, the first 12.3 s after the "
                        "water.\n");
    shot_text_free(&text);
}

/* A scale knows the cup; that no surge was found in its flow tells little. */
static void a_scale_alone_tells_the_cup(void **state) {
    shot_measure_list list = {0};
    shot_measure_list_add(&list, "beverage.mass", 37.61, NAN, NAN, NULL);
    shot_measure_list_add(&list, "first-drip.clock", 10.8, 10.6, 11, NULL);
    shot_measure_list_add(&list, "surge.count", 0, NAN, NAN, "the pressure is not known");
    shot_text text = short_of(&list);
    assert_string_equal(text.bytes,
                        "  In short: 37.6 g. First drop at 10.8 s of the log. No channel shows, "
                        "but\n    without the pressure one may be hidden.\n");
    shot_text_free(&text);
}

/* Where the line is full a number goes to the next together with its unit. */
static void a_number_keeps_its_unit(void **state) {
    shot_measure_list list = {0};
    shot_measure_list_add(&list, "beverage.mass", 36.24, NAN, NAN, NULL);
    shot_measure_list_add(&list, "preinfusion.time", 62345.6, 62345.5, 62345.7, NULL);
    shot_measure_list_add(&list, "brew.time", 2134567890123.7, 2134567890123.6, 2134567890123.8,
                          NULL);
    shot_measure_list_add(&list, "brew.pressure", 8.96, 8.95, 8.97, NULL);
    shot_text text = short_of(&list);
    assert_string_equal(
        text.bytes, "  In short: 36.2 g. Pre-wet for 62345.6 s, brewed for 2134567890123.7 s at\n"
                    "    9.0 bar.\n");
    shot_text_free(&text);
}

static void nothing_known_is_nothing_said(void **state) {
    shot_measure_list list = {0};
    shot_text text = short_of(&list);
    assert_string_equal(text.bytes, "");
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_usual_questions_are_answered),
        cmocka_unit_test(what_is_hardly_known_is_not_told_as_a_fact),
        cmocka_unit_test(a_doubtful_channel_is_doubtful),
        cmocka_unit_test(a_scale_alone_tells_the_cup),
        cmocka_unit_test(a_number_keeps_its_unit),
        cmocka_unit_test(nothing_known_is_nothing_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
