/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shots laid over each other keep their median, and a room that does not grow with the
 * hours that they last. */
#include <support/check.h>

#include <shottrace/trace/table_list.h>

#include "plot/group.h"

/* A shot of that length whose pressure rises from 0 to 9 bar, one sample each 0.8 s. */
static void add_shot(shot_table_collector *to, double seconds) {
    shot_head head = {0};
    const double step = 0.8;
    assert_int_equal(shot_head_set_name(&head, "quay"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(&head, "time", "s"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(&head, "pressure", "bar"), SHOT_OK);
    assert_int_equal(shot_sink_begin(&to->sink, &head, NULL), SHOT_OK);
    for (double t = 0; t <= seconds; t += step) {
        const double pressure = 9 * t / seconds;
        const double *columns[] = {&t, &pressure};
        const shot_block row = {1, 2, columns};
        assert_int_equal(shot_sink_rows(&to->sink, &row, NULL), SHOT_OK);
    }
    assert_int_equal(shot_sink_end(&to->sink, false, NULL), SHOT_OK);
    shot_head_free(&head);
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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tenth_of_a_second_for_a_shot),
        cmocka_unit_test(no_more_places_than_pixels_for_a_day),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
