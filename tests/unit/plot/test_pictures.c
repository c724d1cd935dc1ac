/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/scene.h>

#include "plot/pictures.h"

static void read_table(const char *table, plot_csv *csv) {
    shot_text text = {0};
    assert_int_equal(shot_text_add(&text, table), SHOT_OK);
    assert_int_equal(plot_csv_read(&text, csv, NULL), SHOT_OK);
    shot_text_free(&text);
}

static const double *points_of(const plot_scene *scene, const plot_shape *shape) {
    return scene->points + shape->first;
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
    assert_close(points_of(&scene, scene_inside(peak, PLOT_PATH, 0))[0],
                 scene_place(across, 9.1, false), 0.5);
    const plot_shape *curve = scene_inside(scene_group(&scene, "line curve", 0), PLOT_PATH, 0);
    assert_close(points_of(&scene, curve)[3], scene_place(down, 1.95, true), 0.5);
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
    assert_close(points_of(&scene, scene_inside(first, PLOT_PATH, 0))[0],
                 scene_place(across, -2.5, false), 0.5);
    assert_close(points_of(&scene, scene_inside(first, PLOT_PATH, 0))[2],
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
    const double arrow = points_of(&scene, scene_inside(vast, PLOT_PATH, 1))[0];
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
    const double edge = points_of(&scene, scene_inside(cut, PLOT_PATH, 0))[0];
    assert_close(points_of(&scene, scene_inside(cut, PLOT_PATH, 1))[2], edge, 1e-9); /* its tip */
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
    assert_close(points_of(&scene, high)[1], scene_place(down, centre + 3 * sigma, true), 0.5);
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
        points_of(&scene, scene_inside(scene_group(&scene, "line", 0), PLOT_PATH, 0));
    assert_close(line[2], scene_place(across, 1.5, false), 0.5);
    assert_close(line[3], scene_place(down, 6, true), 0.5);
    size_t rays = 0;
    for (const plot_shape *ray; (ray = scene_group(&scene, "line resistance", rays)); rays++) {
        const plot_shape *path = scene_inside(ray, PLOT_PATH, 0);
        double q = points_of(&scene, path)[2], p = points_of(&scene, path)[3];
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
    const double *points = points_of(&scene, median);
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
    assert_close(points_of(&scene, median)[1], scene_place(down, 9.995, true), 0.5);
    const plot_shape *last = scene_inside(scene_group(&scene, "line shot", 199), PLOT_PATH, 0);
    assert_close(points_of(&scene, last)[0], scene_place(across, 0, false), 0.5);
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
        cmocka_unit_test(rays_have_their_resistance),
        cmocka_unit_test(the_median_ends_with_half_of_the_shots),
        cmocka_unit_test(shots_lie_over_each_other),
        cmocka_unit_test(every_shot_has_its_small_panel),
        cmocka_unit_test(empty_shots_are_drawn),
        cmocka_unit_test(a_lone_path_has_its_name),
        cmocka_unit_test(paths_are_told_apart),
        cmocka_unit_test(a_key_goes_on_in_the_next_row),
        cmocka_unit_test(shots_have_whole_numbers),
        cmocka_unit_test(spectra_of_one_unit_share_their_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
