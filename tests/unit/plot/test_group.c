/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shots laid over each other keep their median, and a room that does not grow with the
 * hours that they last. */
#include <support/check.h>

#include <shottrace/trace/table_list.h>

#include "plot/group.h"

/* A shot of that length whose pressure rises from 0 to 9 bar, one sample each 0.8 s.  Where it is
 * released its log goes on for 4 s without pressure, and a mark tells the end of the brew,
 * known no better than to a sample. */
static void add_shot_that(shot_table_collector *to, double seconds, bool released) {
    shot_head head = {0};
    const double step = 0.8;
    assert_int_equal(shot_head_set_name(&head, "quay"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(&head, "time", "s"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(&head, "pressure", "bar"), SHOT_OK);
    assert_int_equal(shot_sink_begin(&to->sink, &head, NULL), SHOT_OK);
    const size_t rows = (size_t)((seconds + (released ? 4 : 0)) / step + 1e-9) + 1;
    for (size_t i = 0; i < rows; i++) {
        const double t = (double)i * step;
        const double pressure = t <= seconds + 1e-9 ? 9 * t / seconds : 0;
        const double *columns[] = {&t, &pressure};
        const shot_block row = {1, 2, columns};
        assert_int_equal(shot_sink_rows(&to->sink, &row, NULL), SHOT_OK);
    }
    if (released) {
        const shot_mark brew = {.kind = "brew",
                                .id = "b1",
                                .from = 0,
                                .to = seconds + step,
                                .to_low = seconds + step / 2};
        assert_int_equal(shot_sink_mark(&to->sink, &brew, NULL), SHOT_OK);
    }
    assert_int_equal(shot_sink_end(&to->sink, false, NULL), SHOT_OK);
    shot_head_free(&head);
}

static void add_shot(shot_table_collector *to, double seconds) {
    add_shot_that(to, seconds, false);
}

/* The places of the grid of two alike shots of that length. */
static size_t places_for(double seconds) {
    shot_table_collector shots;
    const shot_texts all = {0};
    plot_group group;
    shot_table_collector_init(&shots);
    add_shot(&shots, seconds);
    add_shot(&shots, seconds);
    assert_int_equal(plot_group_find(&shots.shots, &all, &group, NULL), SHOT_OK);
    const size_t channel = plot_group_channel(&group, "pressure"), rows = group.band.rows;
    const double *median = group.band.median[channel];
    for (size_t i = 1; i + 1 < rows; i++)
        assert_close(median[i], 9 * group.grid_time[i] / seconds,
                     1e-9); /* drawn linearly: rounding */
    plot_group_free(&group);
    shot_table_collector_free(&shots);
    return rows;
}

static void a_tenth_of_a_second_for_a_shot(void **state) {
    assert_in_range(places_for(40), 399, 402);
}

static void no_more_places_than_pixels_for_a_day(void **state) {
    assert_in_range(places_for(40000), 8000, 8200);
}

/* Of five shots that end one after the other the band stops with the first, above the nought to
 * which its pressure falls; the median goes on until half have ended. */
static void band_is_of_shots_that_run(void **state) {
    shot_table_collector shots;
    const shot_texts all = {0};
    plot_group group;
    shot_table_collector_init(&shots);
    for (int i = 0; i < 5; i++)
        add_shot_that(&shots, 16 + 4 * i, true);
    assert_int_equal(plot_group_find(&shots.shots, &all, &group, NULL), SHOT_OK);
    const double *low = group.band.low[plot_group_channel(&group, "pressure")];
    assert_close(group.grid_time[group.band_rows - 1], 16, 0.1); /* a step of the grid */
    assert_close(group.grid_time[group.band.rows - 1], 24, 0.1);
    assert_true(low[group.band_rows - 1] > 9 * 16.0 / 32 - 0.1); /* the slowest of them */
    plot_group_free(&group);
    shot_table_collector_free(&shots);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tenth_of_a_second_for_a_shot),
        cmocka_unit_test(no_more_places_than_pixels_for_a_day),
        cmocka_unit_test(band_is_of_shots_that_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
