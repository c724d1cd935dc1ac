/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/scene.h>

#include "plot/panels.h"

static const char shot_text_of_test[] =
    "# shot: quay-017\n# dose: 18.2 g\n# history: shot-clean\n"
    "time [s],pressure [bar],wanted.pressure [bar],flow [ml/s],flow.se [ml/s]\n"
    "0,0,9,0,0.1\n1,2,9,1,0.1\n2,4,9,2,0.1\n3,6,9,3,0.1\n4,8,9,2,0.1\n5,9,9,2,0.1\n"
    "6,9.5,9,2,0.1\n7,9,9,2,0.1\n8,9,9,2,0.1\n9,9,9,2,0.1\n10,0,9,0,0.1\n"
    "# mark: fill id=f1 from=1 to=3.5 from.low=0.8 from.high=1.2\n"
    "# mark: brew id=b1 from=3.5 to=9.5\n"
    "# mark: first-drip id=fd1 from=4.25 to=4.25 from.low=4 from.high=4.5\n"
    "# mark: knee id=k1 from=4.5 to=4.5 from.low=4.2 from.high=4.9 channel=pressure value=-2 "
    "unit=bar/s\n"
    "# mark: surge id=s1 from=6.5 channel=flow\n"
    "# mark: surge id=s2 refines=s1 from=6.25 to=7.75 channel=flow value=12.3 unit=%\n"
    "# mark: zest id=z1 from=5 to=6\n"
    "# mark: note id=n1 from=2 note=\"look here\"\n"
    "# end: rows=11\n# close: shots=1\n";

typedef struct picture {
    shot_table_collector collector;
    plot_scene scene;
} picture;

static void draw(const char *text, picture *out, const char *channel) {
    char *name = (char *)channel;
    shot_texts names = {&name, channel != NULL};
    plot_look look = scene_look();
    shot_error error = {0};
    out->scene = (plot_scene){0};
    scene_shots(text, &out->collector);
    assert_int_equal(shot_mark_list_keep_standing(&out->collector.shots.items[0]->marks), SHOT_OK);
    assert_int_equal(
        plot_panels_draw(out->collector.shots.items[0], NULL, &names, &look, &out->scene, &error),
        SHOT_OK);
}

static void done(picture *one) {
    plot_scene_free(&one->scene);
    shot_table_collector_free(&one->collector);
}

/* Draw one channel that is 2 but for a spike to 900, in that unit. */
static bool a_spike_is_left_out(const char *channel) {
    static char log[4096];
    size_t end = (size_t)snprintf(log, sizeof log, "time [s],%s\n", channel);
    for (int i = 0; i < 60; i++)
        end += (size_t)snprintf(log + end, sizeof log - end, "%d,%g\n", i,
                                i == 30 ? 900.0 : 2 + 0.01 * (i % 7));
    picture one;
    draw(log, &one, NULL);
    bool left_out = scene_says(&one.scene, "beyond the scale: 2 to 900");
    done(&one);
    return left_out;
}

/* Protects: it is the unit that tells a quotient, which runs off where its divisor nears nought;
 * what is called so and is none is drawn whole. */
static void units_tell_quotients(void **state) {
    assert_true(a_spike_is_left_out("puck [bar.s/ml]"));
    assert_true(a_spike_is_left_out("puck [ml/s/bar]"));
    assert_true(a_spike_is_left_out("puck [m2]"));
    assert_true(a_spike_is_left_out("puck [bar/ml]")); /* the slope of the first */
    assert_false(a_spike_is_left_out("thermal-resistance [degC]"));
    assert_false(a_spike_is_left_out("conductance"));
}

/* Protects: a panel for each channel and none for those that belong to another; what was wanted is
 * a panel of the deviation, not a second line. */
static void each_channel_has_a_panel(void **state) {
    static const char *const expected[] = {"pressure", "pressure less wanted", "flow"};
    picture one;
    draw(shot_text_of_test, &one, NULL);
    for (size_t i = 0; i < 3; i++) {
        const plot_shape *panel = scene_group(&one.scene, "panel", i);
        assert_non_null(panel);
        assert_string_equal(panel->words, expected[i]);
        assert_non_null(scene_inside(panel, PLOT_PATH, 0));
    }
    assert_null(scene_group(&one.scene, "panel", 3));
    assert_non_null(scene_inside(scene_group(&one.scene, "panel", 2), PLOT_AREA, 0)); /* of .se */
    done(&one);
}

/* Protects: lines and marks lie where the labels of the axes put their times and values, within
 * half a pixel. */
static void everything_is_at_its_place(void **state) {
    picture one;
    draw(shot_text_of_test, &one, NULL);
    const plot_shape *across = scene_group(&one.scene, "axis across", 0);
    const plot_shape *down = scene_group(&one.scene, "axis values", 0);
    const plot_shape *line = scene_inside(scene_group(&one.scene, "line", 0), PLOT_PATH, 0);
    const double *xy = one.scene.points + line->first;
    assert_int_equal(line->count, 11);
    assert_close(xy[2 * 4], scene_place(across, 4, false), 0.5);
    assert_close(xy[2 * 4 + 1], scene_place(down, 8, true), 0.5);
    const plot_shape *knee = scene_inside(scene_group(&one.scene, "mark knee", 0), PLOT_DOT, 0);
    assert_close(knee->x, scene_place(across, 4.5, false), 0.5);
    assert_close(knee->y, scene_place(down, 8.5, true), 0.5); /* on the line from 8 to 9 */
    const plot_shape *drop = scene_group(&one.scene, "mark first-drip", 0);
    assert_close(scene_inside(drop, PLOT_DOT, 0)->x, scene_place(across, 4.25, false), 0.5);
    const plot_shape *whisker = scene_inside(drop, PLOT_PATH, 0);
    assert_close(one.scene.points[whisker->first], scene_place(across, 4, false), 0.5);
    assert_close(one.scene.points[whisker->first + 2], scene_place(across, 4.5, false), 0.5);
    assert_true(scene_inside(drop, PLOT_WORDS, 0)->x > one.scene.points[whisker->first + 2]);
    const plot_shape *fill = scene_inside(scene_group(&one.scene, "mark fill", 0), PLOT_BOX, 0);
    assert_close(fill->x, scene_place(across, 1, false), 0.5);
    assert_close(fill->x + fill->w, scene_place(across, 3.5, false), 0.5);
    const plot_shape *other = scene_inside(scene_group(&one.scene, "mark zest", 0), PLOT_BOX, 0);
    assert_close(other->x, scene_place(across, 5, false), 0.5); /* a kind of the person's own */
    done(&one);
}

/* Protects: of a mark and its refinement the last alone is drawn. */
static void refined_marks_are_drawn_once(void **state) {
    picture one;
    draw(shot_text_of_test, &one, NULL);
    const plot_shape *surge = scene_group(&one.scene, "mark surge", 0);
    const plot_shape *across = scene_group(&one.scene, "axis across", 0);
    assert_null(scene_group(&one.scene, "mark surge", 1));
    assert_close(scene_inside(surge, PLOT_BOX, 0)->x, scene_place(across, 6.25, false), 0.5);
    done(&one);
}

/* Protects: name, metadata, units and history stand on the picture as text. */
static void the_page_says_what_it_shows(void **state) {
    picture one;
    draw(shot_text_of_test, &one, NULL);
    assert_true(scene_says(&one.scene, "quay-017"));
    assert_true(scene_says(&one.scene, "dose 18.2 g"));
    assert_true(scene_says(&one.scene, "shot-clean"));
    assert_true(scene_says(&one.scene, "ml/s"));
    assert_true(scene_says(&one.scene, "time s"));
    assert_true(scene_says(&one.scene, "look here"));
    assert_non_null(strstr(one.scene.description, "pressure from 0 to 9.5 bar"));
    done(&one);
}

/* Protects: a history that is longer than the page is wide is told whole, on several lines. */
static void a_long_history_is_told_whole(void **state) {
    shot_text log = {0}, told = {0};
    picture one;
    for (int i = 0; i < 20; i++)
        assert_int_equal(shot_text_add_format(&log, "# history: shot-smooth --window %ds\n", i),
                         SHOT_OK);
    assert_int_equal(shot_text_add(&log, "time,x\n0,1\n1,2\n# end: rows=2\n# close: shots=1\n"),
                     SHOT_OK);
    draw(log.bytes, &one, NULL);
    const plot_shape *history = scene_group(&one.scene, "history", 0), *line;
    for (size_t n = 0; (line = scene_inside(history, PLOT_WORDS, n)) != NULL; n++) {
        assert_true(line->y < one.scene.height);
        assert_int_equal(shot_text_add_format(&told, n > 0 ? " %s" : "%s", line->words), SHOT_OK);
    }
    shot_text_clear(&log);
    for (int i = 0; i < 20; i++)
        assert_int_equal(
            shot_text_add_format(&log, "%sshot-smooth --window %ds", i > 0 ? " | " : "", i),
            SHOT_OK);
    assert_string_equal(told.bytes, log.bytes);
    shot_text_free(&log);
    shot_text_free(&told);
    done(&one);
}

/* Protects: a named channel alone, and a sentence where it is missing. */
static void channels_can_be_named(void **state) {
    picture one;
    draw(shot_text_of_test, &one, "flow");
    assert_string_equal(scene_group(&one.scene, "panel", 0)->words, "flow");
    assert_null(scene_group(&one.scene, "panel", 1));
    char *name = (char *)"weight";
    const shot_texts names = {&name, 1};
    plot_look look = scene_look();
    plot_scene scene = {0};
    shot_error error = {0};
    assert_int_equal(
        plot_panels_draw(one.collector.shots.items[0], NULL, &names, &look, &scene, &error),
        SHOT_ERR_DATA);
    assert_string_equal(error.what, "shot 'quay-017' has no channel 'weight'");
    plot_scene_free(&scene);
    done(&one);
}

/* Protects: names that are long, run from right to left or are of wide characters stay on the page
 * and are shortened where they must be. */
static void names_of_any_script_fit(void **state) {
    static const char *const pieces[] = {"long name ", "\xd7\xa7\xd7\xa4\xd7\x94 ",
                                         "\xe6\x97\xa5\xe6\x9c\xac"};
    for (size_t i = 0; i < 3; i++) {
        shot_text log = {0};
        picture one;
        for (int part = 0; part < 3; part++) {
            static const char *const starts[] = {"# shot: ", "\n# grind: ", "\ntime,"};
            assert_int_equal(shot_text_add(&log, starts[part]), SHOT_OK);
            for (int k = 0; k < 60; k++)
                assert_int_equal(shot_text_add(&log, pieces[i]), SHOT_OK);
        }
        assert_int_equal(shot_text_add(&log, "\n0,1\n1,2\n"), SHOT_OK);
        draw(log.bytes, &one, NULL);
        for (size_t k = 0; k < one.scene.count; k++) {
            const plot_shape *shape = &one.scene.shapes[k];
            if (shape->kind != PLOT_WORDS || shape->font.anchor != PLOT_START)
                continue;
            double width = plot_glyphs_width(&plot_type_page, shape->words, shape->font.size,
                                             shape->font.bold);
            assert_true(shape->x >= 0 && shape->x + width <= 960);
        }
        assert_non_null(
            strstr(scene_inside(scene_group(&one.scene, "title", 0), PLOT_WORDS, 0)->words,
                   "\xe2\x80\xa6"));
        shot_text_free(&log);
        done(&one);
    }
}

/* Protects: logs without rows, of one row, without values, of enormous and of negative values are
 * drawn all the same, and everything stays on the page. */
static void odd_logs_are_drawn(void **state) {
    static const char *const logs[] = {
        "time,pressure\n",
        "time,pressure\n5,3\n",
        "time,pressure\n0,\n1,\n2,\n",
        "time,x\n0,-1e308\n1,1e308\n2,0\n3,1e-308\n",
        "time,x\n0,-5\n1,-7\n2,-6\n",
        "time\n0\n1\n2\n",
        "time,x\n-1e9,1\n1e9,2\n",
        "time,x,y\n0,1e300,5\n1,-1e300,5\n2,1e5,5\n# mark: brew from=1\n# mark: surge from=2 to=1\n"
        "# mark: first-drip from=-99 to=-99\n# mark: knee from=7 channel=x\n# mark: zest from=1\n",
    };
    for (size_t i = 0; i < sizeof logs / sizeof *logs; i++) {
        picture one;
        draw(logs[i], &one, NULL);
        assert_true(one.scene.height > 0 && one.scene.height < 2000);
        for (size_t k = 0; k < one.scene.point_count; k += 2) {
            assert_true(one.scene.points[k] >= -1 && one.scene.points[k] <= 961);
            assert_true(one.scene.points[k + 1] >= -1 &&
                        one.scene.points[k + 1] <= one.scene.height + 1);
        }
        done(&one);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(units_tell_quotients),
        cmocka_unit_test(each_channel_has_a_panel),
        cmocka_unit_test(everything_is_at_its_place),
        cmocka_unit_test(refined_marks_are_drawn_once),
        cmocka_unit_test(the_page_says_what_it_shows),
        cmocka_unit_test(channels_can_be_named),
        cmocka_unit_test(odd_logs_are_drawn),
        cmocka_unit_test(names_of_any_script_fit),
        cmocka_unit_test(a_long_history_is_told_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
