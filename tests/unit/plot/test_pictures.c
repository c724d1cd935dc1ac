/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures of shots. */
#include <support/scene.h>

#include "plot/pictures.h"

/* Protects: the path of a shot through flow and pressure, and rays on which their quotient is what
 * the ray says. */
static void rays_have_their_resistance(void **state) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = scene_look();
    scene_shots("time,pressure,flow\n0,0,0\n5,6,1.5\n10,9,3\n", &collector);
    assert_int_equal(plot_path_draw(&collector.shots, &look, &scene, NULL), SHOT_OK);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    const plot_shape *down = scene_group(&scene, "axis values", 0);
    const double *line =
        scene_points(&scene, scene_inside(scene_group(&scene, "line", 0), PLOT_PATH, 0));
    assert_close(line[2], scene_place(across, 1.5, false), 0.5);
    assert_close(line[3], scene_place(down, 6, true), 0.5);
    size_t rays = 0;
    for (const plot_shape *ray; (ray = scene_group(&scene, "line resistance", rays)); rays++) {
        const plot_shape *path = scene_inside(ray, PLOT_PATH, 0);
        double q = scene_points(&scene, path)[2], p = scene_points(&scene, path)[3];
        double x0 = scene_place(across, 0, false), y0 = scene_place(down, 0, true);
        double flow = (q - x0) / (scene_place(across, 1, false) - x0);
        double pressure = (p - y0) / (scene_place(down, 1, true) - y0);
        assert_rel(pressure / flow, atof(ray->words), 0.02); /* half a pixel in 30 */
    }
    assert_true(rays >= 3);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* A stream of shots that end one second later each. */
static void make_shots(size_t count, shot_table_collector *collector) {
    shot_text text = {0};
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(shot_text_add_format(&text,
                                              "# shot: number %zu of a long series\n"
                                              "time,pressure,weight\n",
                                              i),
                         SHOT_OK);
        for (size_t t = 0; t < 20; t++)
            assert_int_equal(
                shot_text_add_format(&text, "%zu,%g,%zu\n", t + i, 9.0 + 0.01 * (double)i, t),
                SHOT_OK);
    }
    scene_shots(text.bytes, collector);
    shot_text_free(&text);
}

/* Protects: the median of six shots, of which three fall at 10 s and end at 12 s and three fall at
 * 16 s, ends at the brew of the last of the short ones: it neither hangs between the two kinds nor
 * comes back up where the short logs end. */
static void the_median_ends_with_half_of_the_shots(void **state) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = scene_look();
    const shot_texts all = {0};
    shot_text text = {0};
    for (int i = 0; i < 6; i++) {
        const int fall = i % 2 == 0 ? 10 : 16;
        assert_int_equal(shot_text_add_format(&text, "# shot: s%d\ntime,pressure\n", i), SHOT_OK);
        assert_int_equal(shot_text_add_format(&text,
                                              "# mark: preinfusion id=p from=0 to=1\n"
                                              "# mark: brew id=b from=1 to=%d\n",
                                              fall),
                         SHOT_OK);
        for (int t = 0; t <= fall + 2; t++)
            assert_int_equal(shot_text_add_format(&text, "%d,%d\n", t, t <= fall ? 8 : 0), SHOT_OK);
    }
    scene_shots(text.bytes, &collector);
    shot_text_free(&text);
    assert_int_equal(plot_overlay_draw(&collector.shots, &all, &look, &scene, NULL), SHOT_OK);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    const plot_shape *down = scene_group(&scene, "axis values", 0);
    const plot_shape *median = scene_inside(scene_group(&scene, "line median", 0), PLOT_PATH, 0);
    const double *points = scene_points(&scene, median);
    for (size_t i = 0; i < median->count; i++)
        assert_close(points[2 * i + 1], scene_place(down, 8, true), 0.5);
    assert_close(points[2 * median->count - 2], scene_place(across, 10, false), 0.5);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* Protects: two hundred shots lie over each other at their first rows, with the median where the
 * middle shot is; three are told apart by their lines and named. */
static void shots_lie_over_each_other(void **state) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = scene_look();
    const shot_texts all = {0};
    make_shots(200, &collector);
    assert_int_equal(plot_overlay_draw(&collector.shots, &all, &look, &scene, NULL), SHOT_OK);
    assert_non_null(scene_group(&scene, "line shot", 399)); /* two channels */
    assert_null(scene_group(&scene, "line shot", 400));
    const plot_shape *down = scene_group(&scene, "axis values", 0);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    const plot_shape *median = scene_inside(scene_group(&scene, "line median", 0), PLOT_PATH, 0);
    assert_close(scene_points(&scene, median)[1], scene_place(down, 9.995, true), 0.5);
    const plot_shape *last = scene_inside(scene_group(&scene, "line shot", 199), PLOT_PATH, 0);
    assert_close(scene_points(&scene, last)[0], scene_place(across, 0, false), 0.5);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
    make_shots(3, &collector);
    assert_int_equal(plot_overlay_draw(&collector.shots, &all, &look, &scene, NULL), SHOT_OK);
    assert_true(scene_says(&scene, "number 2 of a long series"));
    assert_null(scene_group(&scene, "line median", 0));
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* Protects: a panel a shot, none beyond the page, for any number of shots. */
static void every_shot_has_its_small_panel(void **state) {
    static const size_t counts[] = {1, 2, 5, 200};
    const shot_texts all = {0};
    for (size_t i = 0; i < 4; i++) {
        shot_table_collector collector;
        plot_scene scene = {0};
        plot_look look = scene_look();
        make_shots(counts[i], &collector);
        assert_int_equal(plot_multiples_draw(&collector.shots, &all, &look, &scene, NULL), SHOT_OK);
        assert_non_null(scene_group(&scene, "panel", counts[i] - 1));
        assert_null(scene_group(&scene, "panel", counts[i]));
        for (size_t k = 0; k < scene.point_count; k += 2) {
            assert_true(scene.points[k] >= -1 && scene.points[k] <= look.width + 1);
            assert_true(scene.points[k + 1] >= -1 && scene.points[k + 1] <= scene.height + 1);
        }
        plot_scene_free(&scene);
        shot_table_collector_free(&collector);
    }
}

/* Protects: several shots without rows or values are drawn all the same. */
static void empty_shots_are_drawn(void **state) {
    shot_table_collector collector;
    plot_look look = scene_look();
    const shot_texts all = {0};
    scene_shots("time,pressure\ntime,pressure,flow\n0,,\n1,,\ntime,pressure\n5,-3\n", &collector);
    shot_status (*const draws[])(const shot_table_list *, const shot_texts *, const plot_look *,
                                 plot_scene *,
                                 shot_error *) = {plot_overlay_draw, plot_multiples_draw};
    for (size_t i = 0; i < 2; i++) {
        plot_scene scene = {0};
        assert_int_equal(draws[i](&collector.shots, &all, &look, &scene, NULL), SHOT_OK);
        plot_scene_free(&scene);
    }
    plot_scene scene = {0};
    assert_int_equal(plot_path_draw(&collector.shots, &look, &scene, NULL), SHOT_OK);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* Protects: one path among shots without one has its own shot's name, not the first's. */
static void a_lone_path_has_its_name(void **state) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = scene_look();
    scene_shots("# shot: scale\ntime,weight\n0,0\n5,6\n# shot: bench\n"
                "time,pressure,flow\n0,0,0\n5,7,1.5\n",
                &collector);
    assert_int_equal(plot_path_draw(&collector.shots, &look, &scene, NULL), SHOT_OK);
    assert_true(scene_says(&scene, "bench"));
    assert_false(scene_says(&scene, "scale"));
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* Protects: each of a few paths is named in a key, with the pen of its line. */
static void paths_are_told_apart(void **state) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = scene_look();
    scene_shots("# shot: one\ntime,pressure,flow\n0,0,0\n5,6,1.5\n# shot: two\n"
                "time,pressure,flow\n0,0,0\n5,7,1.5\n",
                &collector);
    assert_int_equal(plot_path_draw(&collector.shots, &look, &scene, NULL), SHOT_OK);
    const plot_shape *key = scene_group(&scene, "key", 0);
    assert_string_equal(scene_inside(key, PLOT_WORDS, 1)->words, "two");
    const plot_pen *pen = &scene_inside(key, PLOT_PATH, 1)->pen;
    const plot_shape *line = scene_inside(scene_group(&scene, "line", 1), PLOT_PATH, 0);
    assert_int_equal(line->pen.dash, pen->dash);
    assert_int_not_equal(line->pen.dash,
                         scene_inside(scene_group(&scene, "line", 0), PLOT_PATH, 0)->pen.dash);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* Protects: a key with names too long for one row goes on in the next, and drops none. */
static void a_key_goes_on_in_the_next_row(void **state) {
    shot_table_collector collector;
    plot_scene scene = {0};
    plot_look look = scene_look();
    const shot_texts all = {0};
    shot_text text = {0};
    for (int i = 0; i < 4; i++)
        assert_int_equal(
            shot_text_add_format(&text, "# shot: %d %060d\ntime,pressure\n0,1\n1,%d\n", i, 0, i),
            SHOT_OK);
    scene_shots(text.bytes, &collector);
    shot_text_free(&text);
    assert_int_equal(plot_overlay_draw(&collector.shots, &all, &look, &scene, NULL), SHOT_OK);
    const plot_shape *key = scene_group(&scene, "key", 0);
    const plot_shape *last = scene_inside(key, PLOT_WORDS, 3);
    assert_int_equal(last->words[0], '3');
    assert_true(last->y > scene_inside(key, PLOT_WORDS, 0)->y);
    plot_scene_free(&scene);
    shot_table_collector_free(&collector);
}

/* Protects: shots have whole numbers on the axis of a control chart, however few there are. */
static void shots_have_whole_numbers(void **state) {
    plot_scene scene = {0};
    plot_look look = scene_look();
    shot_measure_table table = {0};
    char *name = (char *)"x";
    const shot_texts names = {&name, 1};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(shot_measure_table_add_shot(&table, "s", 0), SHOT_OK);
        assert_int_equal(shot_measure_table_set(&table, i, "x", NULL, "g", (double)i, NULL),
                         SHOT_OK);
    }
    assert_int_equal(plot_control_draw(&table, &names, &look, &scene, NULL), SHOT_OK);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    for (size_t i = 0; i < 3; i++)
        assert_null(strchr(scene_inside(across, PLOT_WORDS, i)->words, '.'));
    plot_scene_free(&scene);
    shot_measure_table_free(&table);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rays_have_their_resistance),
        cmocka_unit_test(the_median_ends_with_half_of_the_shots),
        cmocka_unit_test(shots_lie_over_each_other),
        cmocka_unit_test(every_shot_has_its_small_panel),
        cmocka_unit_test(empty_shots_are_drawn),
        cmocka_unit_test(a_lone_path_has_its_name),
        cmocka_unit_test(paths_are_told_apart),
        cmocka_unit_test(a_key_goes_on_in_the_next_row),
        cmocka_unit_test(shots_have_whole_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
