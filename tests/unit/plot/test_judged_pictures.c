/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures of what a tool worked out: sweeps, comparisons, spectra, control charts. */
#include <support/scene.h>

#include "plot/pictures.h"

static void read_table(const char *table, plot_csv *csv) {
    shot_text text = {0};
    assert_int_equal(shot_text_add(&text, table), SHOT_OK);
    assert_int_equal(plot_csv_read(&text, csv, NULL), SHOT_OK);
    shot_text_free(&text);
}

/* Protects: shots, curve, peak and the interval of a sweep lie where the axes say, within half a
 * pixel; the interval stands in words too. */
static void a_sweep_is_at_its_place(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("part,x,y,low,high,level,label,unit\n"
               "axis.x,,,,,,\"pressure, in the brew\",bar\naxis.y,,,,,,flow,ml/s\n"
               "point,7,1.5,,,,a,\npoint,9,2.0,,,,b,\npoint,11,1.6,,,,c,\nmean,9,1.9,,,,,\n"
               "curve,7,1.5,,,,,\ncurve,9,1.95,,,,,\ncurve,11,1.6,,,,,\n"
               "peak,9.1,1.95,8.5,9.75,0.95,,bar\n",
               &csv);
    assert_int_equal(plot_sweep_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    const plot_shape *down = scene_group(&scene, "axis values", 0);
    const plot_shape *point = scene_inside(scene_group(&scene, "mark point", 1), PLOT_DOT, 0);
    assert_close(point->x, scene_place(across, 9, false), 0.5);
    assert_close(point->y, scene_place(down, 2.0, true), 0.5);
    const plot_shape *peak = scene_group(&scene, "mark peak", 0);
    const plot_shape *interval = scene_inside(peak, PLOT_BOX, 0);
    assert_close(interval->x, scene_place(across, 8.5, false), 0.5);
    assert_close(interval->x + interval->w, scene_place(across, 9.75, false), 0.5);
    assert_close(scene_points(&scene, scene_inside(peak, PLOT_PATH, 0))[0],
                 scene_place(across, 9.1, false), 0.5);
    const plot_shape *curve = scene_inside(scene_group(&scene, "line curve", 0), PLOT_PATH, 0);
    assert_close(scene_points(&scene, curve)[3], scene_place(down, 1.95, true), 0.5);
    assert_true(scene_says(&scene, "peak at 9.1 bar, 95 % interval 8.5 to 9.75 bar"));
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: where no curve fits, no line marks a place that is not known. */
static void a_sweep_without_a_curve_has_no_place(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("part,x,y,low,high,level,label,unit\naxis.x,,,,,,pressure,bar\n"
               "axis.y,,,,,,flow,ml/s\npoint,7,1,,,,1,\npoint,9,3,,,,2,\npoint,11,1,,,,3,\n"
               "peak,9,,7,11,0.95,,bar\n",
               &csv);
    assert_int_equal(plot_sweep_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *peak = scene_group(&scene, "mark peak", 0);
    assert_non_null(scene_inside(peak, PLOT_BOX, 0));
    assert_null(scene_inside(peak, PLOT_PATH, 0));
    assert_true(scene_says(&scene, "a peak inside the sweep, highest setting 9 bar, 95 % interval "
                                   "7 to 11 bar"));
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: each difference stands at its effect with its interval; what is shown to differ has a
 * symbol of its own; a row without an effect is left out. */
static void a_comparison_is_at_its_place(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("measure,unit,a,b,role,verdict,difference,g,g.low,g.high,margin\n"
               "first-drip.time,s,A,B,primary,different,-0.8,-1.25,-2.5,-0.5,0.4\n"
               "dose,g,A,B,exploratory,no scatter to judge by,0,,,,\n"
               "brew.flow,ml/s,A,B,exploratory,not settled,0.1,0.5,-0.5,1.5,\n",
               &csv);
    assert_int_equal(plot_contrasts_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    const plot_shape *first = scene_group(&scene, "mark contrast", 0);
    const plot_shape *second = scene_group(&scene, "mark contrast", 1);
    assert_null(scene_group(&scene, "mark contrast", 2));
    assert_close(scene_inside(first, PLOT_DOT, 0)->x, scene_place(across, -1.25, false), 0.5);
    assert_close(scene_points(&scene, scene_inside(first, PLOT_PATH, 0))[0],
                 scene_place(across, -2.5, false), 0.5);
    assert_close(scene_points(&scene, scene_inside(first, PLOT_PATH, 0))[2],
                 scene_place(across, -0.5, false), 0.5);
    /* the margin of 0.4 s is half the difference, so half of 1.25 scatters on either side */
    const plot_shape *margin = scene_inside(first, PLOT_BOX, 0);
    assert_close(margin->x, scene_place(across, -0.625, false), 0.5);
    assert_int_equal(scene_inside(first, PLOT_DOT, 0)->symbol, PLOT_DIAMOND);
    assert_int_equal(scene_inside(second, PLOT_DOT, 0)->symbol, PLOT_RING);
    assert_true(scene_says(&scene, "\xe2\x88\x92"
                                   "0.80 s: different"));
    assert_true(scene_says(&scene, "first drop after")); /* words, not first-drip.time */
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: the scatter of pairs is not that of single shots, and the axis says which it is. */
static void pairs_are_told_on_the_axis(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("measure,unit,a,b,role,verdict,difference,g,g.low,g.high,margin,method\n"
               "dose,g,A,B,exploratory,no scatter to judge by,0,,,,,none\n"
               "brew.flow,ml/s,A,B,exploratory,not settled,0.1,0.5,-0.5,1.5,,pairs\n",
               &csv);
    assert_int_equal(plot_contrasts_draw(&csv, &look, &scene, NULL), SHOT_OK);
    assert_true(scene_says(&scene, "difference in scatters within pairs (Hedges' g)"));
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: one difference of 200 scatters does not press all others into one place: the axis ends
 * at 6, an arrow tells that it lies beyond, and the picture says so. */
static void a_vast_difference_is_an_arrow(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("measure,unit,a,b,role,verdict,difference,g,g.low,g.high,margin\n"
               "preinfusion.time,s,A,B,exploratory,different,-6.0,-201,-270,-142,\n"
               "brew.flow,ml/s,A,B,exploratory,not settled,0.1,0.5,-0.5,1.5,\n",
               &csv);
    assert_int_equal(plot_contrasts_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    const plot_shape *vast = scene_group(&scene, "mark contrast", 0);
    const plot_shape *small = scene_group(&scene, "mark contrast", 1);
    assert_null(scene_inside(vast, PLOT_DOT, 0));
    const double dot = scene_inside(small, PLOT_DOT, 0)->x;
    assert_close(dot, scene_place(across, 0.5, false), 0.5);
    const double arrow = scene_points(&scene, scene_inside(vast, PLOT_PATH, 1))[0];
    assert_true(arrow <= scene_place(across, -6, false) + 0.5);
    assert_true(dot - arrow > 0.5 * (scene_place(across, 0, false) - arrow));
    bool said = false;
    for (size_t i = 0; i < scene.count; i++)
        said = said || (scene.shapes[i].kind == PLOT_WORDS &&
                        strstr(scene.shapes[i].words, "beyond 6 scatters") != NULL);
    assert_true(said);
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: an interval that the axis cuts has an arrowhead at that end, and at no other; a figure
 * has the digits that its scatter leaves it. */
static void a_cut_interval_is_an_arrow(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("measure,unit,a,b,role,verdict,difference,g,g.low,g.high,margin\n"
               "soak.pressure,bar,A,B,exploratory,not settled,-0.00676,-2,-9,5,\n"
               "brew.flow,ml/s,A,B,exploratory,not settled,0.1,0.5,-0.5,1.5,\n",
               &csv);
    assert_int_equal(plot_contrasts_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *cut = scene_group(&scene, "mark contrast", 0);
    const double edge = scene_points(&scene, scene_inside(cut, PLOT_PATH, 0))[0];
    assert_close(scene_points(&scene, scene_inside(cut, PLOT_PATH, 1))[2], edge,
                 1e-9); /* its tip */
    assert_null(scene_inside(cut, PLOT_PATH, 2));
    assert_null(scene_inside(scene_group(&scene, "mark contrast", 1), PLOT_PATH, 1));
    assert_true(scene_says(&scene, "\xe2\x88\x92"
                                   "0.0068 bar: not settled"));
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: on a narrow page names and findings do not leave the differences a strip: they stand
 * above them, and the axis is as wide as the page. */
static void a_narrow_comparison_keeps_its_axis(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    look.width = 420;
    read_table("measure,unit,a,b,role,verdict,difference,g,g.low,g.high,margin\n"
               "brew.pressure.steadiness,bar,A,B,exploratory,not settled,0.1,-2,-2.5,-1.5,\n"
               "resistance.start,bar.s/ml,A,B,exploratory,not settled,0.1,2,1.5,2.5,\n",
               &csv);
    assert_int_equal(plot_contrasts_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *first = scene_inside(scene_group(&scene, "mark contrast", 0), PLOT_DOT, 0);
    const plot_shape *second = scene_inside(scene_group(&scene, "mark contrast", 1), PLOT_DOT, 0);
    assert_true(second->x - first->x > 0.5 * look.width);
    assert_true(scene_says(&scene, "pressure, scatter about that slope")); /* whole */
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: of several groups the title is not that of the first pair, and the rows of a measure
 * stand together under its name, each called after its group. */
static void several_groups_stand_under_their_measure(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("measure,unit,a,b,role,verdict,difference,g,g.low,g.high,margin\n"
               "score,,buoy,anchor,exploratory,not settled,0.1,0.1,-0.5,0.7,\n"
               "dose,g,buoy,anchor,exploratory,no scatter to judge by,0,,,,\n"
               "drip,s,buoy,anchor,exploratory,different,-3,-1.6,-2,-1.2,\n"
               "score,,cleat,anchor,exploratory,not settled,0.2,0.2,-0.4,0.8,\n"
               "drip,s,cleat,anchor,exploratory,not settled,0.3,0.3,-0.3,0.9,\n",
               &csv);
    assert_int_equal(plot_contrasts_draw(&csv, &look, &scene, NULL), SHOT_OK);
    assert_true(scene_says(&scene, "2 groups, each less anchor"));
    assert_true(scene_says(&scene, "buoy"));
    assert_false(scene_says(&scene, "dose"));
    const char *order[] = {"score", "score", "drip", "drip"};
    double y = 0;
    for (size_t i = 0; i < 4; i++) {
        const plot_shape *group = scene_group(&scene, "mark contrast", i);
        assert_string_equal(group->words, order[i]);
        const double at = scene_inside(group, PLOT_DOT, 0)->y;
        assert_true(at > y + (i == 2 ? 1.5 : 1) * look.type.line); /* a heading between */
        y = at;
    }
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Shot `i`, with its value of the measure x. */
static void add_shot_of_x(shot_measure_table *table, size_t i, const char *unit, double value) {
    char shot[8];
    snprintf(shot, sizeof shot, "s%zu", i);
    assert_int_equal(shot_measure_table_add_shot(table, shot, 0), SHOT_OK);
    assert_int_equal(shot_measure_table_set(table, i, "x", NULL, unit, value, NULL), SHOT_OK);
}

/* Protects: a control chart of fewer shots than shot-compare judges by has no limits, and what it
 * says on a narrow page is not cut. */
static void few_shots_have_no_limits(void **state) {
    shot_measure_table table = {0};
    plot_scene scene = {0};
    plot_look look = scene_look();
    char *name = (char *)"x";
    const shot_texts names = {&name, 1};
    look.width = 260;
    for (size_t i = 0; i < 4; i++) {
        add_shot_of_x(&table, i, "bar.s/ml", 1.021 + 0.31 * (double)(i % 2));
        if (i < 2)
            continue;
        assert_int_equal(plot_control_draw(&table, &names, &look, &scene, NULL), SHOT_OK);
        assert_int_equal(scene_group(&scene, "line limit", 0) != NULL, i == 3);
        assert_int_equal(scene_says(&scene, "too few shots for limits"), i == 2);
        assert_false(scene_says(&scene, "\xe2\x80\xa6"));
        plot_scene_free(&scene);
    }
    shot_measure_table_free(&table);
}

/* Protects: a spectrum has its line, its continuum, and a mark at the bin that stands out. */
static void a_spectrum_is_at_its_place(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("shot,channel,frequency,power,unit,continuum,false.alarm\n"
               "1,pressure,1,0.1,bar2/Hz,0.2,0.5\n1,pressure,2,10,bar2/Hz,0.1,1e-9\n"
               "1,pressure,3,0.05,bar2/Hz,0.05,0.5\n2,pressure,1,1,bar2/Hz,,\n",
               &csv);
    assert_int_equal(plot_spectra_draw(&csv, &look, &scene, NULL), SHOT_OK);
    const plot_shape *peak = scene_inside(scene_group(&scene, "mark ripple", 0), PLOT_DOT, 0);
    assert_null(scene_group(&scene, "mark ripple", 1));
    assert_close(peak->x, scene_place(scene_group(&scene, "axis across", 0), 2, false), 0.5);
    assert_non_null(scene_group(&scene, "panel", 1)); /* of shot 2 */
    assert_true(scene_says(&scene, "2 Hz"));
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

/* Protects: limits of a control chart are those of the textbook, and the shot beyond them is named.
 * Values: 9, 11 in turn have a mean range of 2, so sigma is 2/1.128 = 1.773 (NIST/SEMATECH
 * e-Handbook, 6.3.2.2: d2 = 1.128). */
static void a_control_chart_names_the_odd_shot(void **state) {
    shot_measure_table table = {0};
    plot_scene scene = {0};
    plot_look look = scene_look();
    char *name = (char *)"x";
    const shot_texts names = {&name, 1};
    for (size_t i = 0; i < 41; i++)
        add_shot_of_x(&table, i, "g", i == 40 ? 30 : i % 2 ? 11 : 9);
    assert_int_equal(plot_control_draw(&table, &names, &look, &scene, NULL), SHOT_OK);
    const plot_shape *signal = scene_group(&scene, "mark signal", 0);
    assert_string_equal(signal->words, "s40");
    assert_null(scene_group(&scene, "mark signal", 1));
    const plot_shape *across = scene_group(&scene, "axis across", 0);
    assert_close(scene_inside(signal, PLOT_DOT, 0)->x, scene_place(across, 41, false), 0.5);
    const plot_shape *down = scene_group(&scene, "axis values", 0);
    /* 39 ranges of 2 and one of 19 */
    double centre = (20 * 9 + 20 * 11 + 30) / 41.0, sigma = (39 * 2 + 19) / 40.0 / 1.1283792;
    const plot_shape *high = scene_inside(scene_group(&scene, "line limit", 2), PLOT_PATH, 0);
    assert_close(scene_points(&scene, high)[1], scene_place(down, centre + 3 * sigma, true), 0.5);
    plot_scene_free(&scene);
    name = (char *)"zest";
    shot_error error = {0};
    assert_int_equal(plot_control_draw(&table, &names, &look, &scene, &error), SHOT_ERR_DATA);
    assert_string_equal(
        error.what, "no shot has a measure or a number 'zest'; shot-report --format csv prints the "
                    "names that there are");
    plot_scene_free(&scene);
    shot_measure_table_free(&table);
}

/* Protects: panels of one unit share their scale. */
static void spectra_of_one_unit_share_their_scale(void **state) {
    plot_csv csv;
    plot_scene scene = {0};
    plot_look look = scene_look();
    read_table("shot,channel,frequency,power,unit,continuum,false.alarm\n"
               "1,pressure,1,0.1,bar2/Hz,,\n1,pressure,2,0.2,bar2/Hz,,\n"
               "2,pressure,1,1000,bar2/Hz,,\n2,pressure,2,2000,bar2/Hz,,\n",
               &csv);
    assert_int_equal(plot_spectra_draw(&csv, &look, &scene, NULL), SHOT_OK);
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(
            scene_inside(scene_group(&scene, "axis values", 0), PLOT_WORDS, i)->words,
            scene_inside(scene_group(&scene, "axis values", 1), PLOT_WORDS, i)->words);
    plot_scene_free(&scene);
    plot_csv_free(&csv);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sweep_is_at_its_place),
        cmocka_unit_test(a_sweep_without_a_curve_has_no_place),
        cmocka_unit_test(a_comparison_is_at_its_place),
        cmocka_unit_test(pairs_are_told_on_the_axis),
        cmocka_unit_test(a_vast_difference_is_an_arrow),
        cmocka_unit_test(a_cut_interval_is_an_arrow),
        cmocka_unit_test(a_narrow_comparison_keeps_its_axis),
        cmocka_unit_test(a_spectrum_is_at_its_place),
        cmocka_unit_test(a_control_chart_names_the_odd_shot),
        cmocka_unit_test(several_groups_stand_under_their_measure),
        cmocka_unit_test(few_shots_have_no_limits),
        cmocka_unit_test(spectra_of_one_unit_share_their_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
