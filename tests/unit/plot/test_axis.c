/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <string.h>

#include "plot/axis.h"

static void label_is(const plot_axis *axis, size_t tick, const char *expected) {
    shot_text text = {0};
    assert_int_equal(plot_axis_add_label(axis, plot_axis_tick(axis, tick), &text), SHOT_OK);
    assert_string_equal(text.bytes, expected);
    shot_text_free(&text);
}

/* Protects: ends lie at the ends, the middle in the middle, and what is beyond stays beyond. */
static void places_are_proportional(void **state) {
    plot_axis axis = plot_axis_cover(-2, 8, 6, false);
    axis.from = 100;
    axis.to = 50;
    assert_close(plot_axis_place(&axis, -2), 100, 1e-12);
    assert_close(plot_axis_place(&axis, 8), 50, 1e-12);
    assert_close(plot_axis_place(&axis, 3), 75, 1e-12);
    assert_close(plot_axis_place(&axis, 18), 0, 1e-12);
    assert_close(plot_axis_clamp(&axis, 18), 50, 1e-12);
    assert_true(isnan(plot_axis_place(&axis, NAN)));
}

/* Protects: ticks are round numbers written without the dust of binary fractions. */
static void ticks_are_round(void **state) {
    plot_axis axis = plot_axis_cover(0, 0.97, 11, false);
    assert_close(axis.step, 0.1, 1e-12);
    assert_int_equal(plot_axis_ticks(&axis), 10);
    label_is(&axis, 0, "0");
    label_is(&axis, 3, "0.3");
    axis = plot_axis_cover(0, 9.4, 3, false);
    assert_close(axis.step, 4, 1e-12); /* 5 would leave two numbers */
    axis = plot_axis_cover(0, 5.2, 3, false);
    assert_close(axis.step, 2.5, 1e-12);
    label_is(&axis, 1, "2.5");
    axis = plot_axis_cover(-40, 25, 5, false);
    label_is(&axis, 0, PLOT_MINUS "40");
}

/* Protects: every interval of doubles gets an axis with ticks, numbers that are none included. */
static void any_interval_gets_an_axis(void **state) {
    const double cases[][2] = {{NAN, NAN},   {5, 5},           {0, 0},           {-1e308, 1e308},
                               {7, 3},       {1e-300, 2e-300}, {1e15, 1e15 + 1}, {INFINITY, 0},
                               {-1e9, 1e-9}, {1e308, 1.7e308}, {-5e-324, 5e-324}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        for (size_t ticks = 0; ticks < 12; ticks++) {
            plot_axis axis = plot_axis_cover(cases[i][0], cases[i][1], ticks, ticks % 2);
            axis.from = 0;
            axis.to = 100;
            assert_true(axis.low < axis.high);
            assert_true(isfinite(plot_axis_place(&axis, axis.low)));
            assert_close(plot_axis_place(&axis, axis.high), 100, 1e-9);
            assert_in_range(plot_axis_ticks(&axis), 2, 2 * ticks + 10);
            shot_text text = {0};
            assert_int_equal(plot_axis_add_label(&axis, plot_axis_tick(&axis, 0), &text), SHOT_OK);
            assert_in_range(strlen(text.bytes), 1, 30);
            shot_text_free(&text);
        }
}

/* Protects: long times are told in minutes and hours, at the same places. */
static void long_times_change_their_unit(void **state) {
    plot_axis axis = plot_axis_cover_time(0, 3600, 7);
    assert_string_equal(plot_axis_time_unit(&axis), "min");
    axis.from = 0;
    axis.to = 360;
    label_is(&axis, 1, "10");
    assert_close(plot_axis_place(&axis, plot_axis_tick(&axis, 1)), 60, 1e-9);
    axis = plot_axis_cover_time(0, 36, 7);
    assert_string_equal(plot_axis_time_unit(&axis), "s");
    axis = plot_axis_cover_time(0, 24 * 3600, 7);
    assert_string_equal(plot_axis_time_unit(&axis), "h");
}

/* Protects: on a logarithmic axis equal factors are equal lengths. */
static void decades_are_equal(void **state) {
    plot_axis axis = plot_axis_cover_log(0.01, 100, 9);
    axis.from = 0;
    axis.to = 40;
    assert_close(plot_axis_place(&axis, 0.1), 10, 1e-9);
    assert_close(plot_axis_place(&axis, 1), 20, 1e-9);
    assert_int_equal(plot_axis_ticks(&axis), 5);
    label_is(&axis, 1, "0.1");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(places_are_proportional),   cmocka_unit_test(ticks_are_round),
        cmocka_unit_test(any_interval_gets_an_axis), cmocka_unit_test(long_times_change_their_unit),
        cmocka_unit_test(decades_are_equal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
