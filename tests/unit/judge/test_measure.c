/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the measures of a shot whose every figure can be worked out by hand, their names, and
 * that a shot says nothing about what it does not show. */
#include <support/hand_shot.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/judge/measure.h>

/* 0..30 s at 10 Hz: water from 1 s, full pressure of 9 bar from 5 s to 25 s, 3 ml/s of water up to
 * 5 s and 2 ml/s after that, beverage from 8 s on at 2 g/s. */
static void make_shot(shot_table *shot) {
    static const char *const channels[] = {"pressure", "flow", "weight"};
    hand_shot_begin(shot, true, channels, 3);
    shot_head_add_line(&shot->head, "tds", "9.5 %");
    for (int i = 0; i <= 300; i++) {
        double t = i / 10.0;
        double p = t < 1 ? 0 : t < 5 ? 9 * (t - 1) / 4 : t <= 25 ? 9 : 0;
        double q = t < 1 || t > 25 ? 0 : t < 5 ? 3 : 2;
        double w = t < 8 ? 0 : t <= 25 ? 2 * (t - 8) : 34;
        double row[] = {t, p, q, w};
        assert_int_equal(shot_rows_append_row(&shot->rows, row), SHOT_OK);
    }
}

static void figures_that_can_be_worked_out_by_hand(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    hand_shot_mark(&shot, "brew", 5, 25, NAN);
    hand_shot_mark(&shot, "fill", 1, 3, NAN);
    hand_shot_mark(&shot, "ripple", 5, 25, 49.5);
    hand_shot_mark(&shot, "first-drip", 8, 8, NAN);
    hand_shot_mark(&shot, "surge", 12, 12.5, 20);
    hand_shot_mark(&shot, "surge", 18, 18.5, 10);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_close(hand_shot_value(&list, "shot.time"), 24, 1e-12);
    assert_close(hand_shot_value(&list, "preinfusion.time"), 4, 1e-12);
    assert_close(hand_shot_value(&list, "preinfusion.share"), 100 * 4.0 / 24, 1e-12);
    assert_close(hand_shot_value(&list, "first-drip.time"), 7, 1e-12);
    assert_close(hand_shot_value(&list, "fill.flow"), 3, 1e-12);
    assert_close(hand_shot_value(&list, "pressure.zero"), 0, 1e-12);
    assert_close(hand_shot_value(&list, "ripple.rate"), 49.5, 1e-12);
    assert_close(hand_shot_value(&list, "brew.pressure"), 9, 1e-12);
    assert_close(hand_shot_value(&list, "brew.pressure.slope"), 0, 1e-12);
    assert_close(hand_shot_value(&list, "brew.flow"), 2, 1e-12);
    assert_close(hand_shot_value(&list, "brew.outflow"), 34.0 / 20,
                 1e-12); /* though it starts at 8 s */
    assert_close(hand_shot_value(&list, "resistance.start"), 4.5, 1e-12);
    assert_close(hand_shot_value(&list, "resistance.end"), 4.5, 1e-12);
    assert_close(hand_shot_value(&list, "beverage.mass"), 34, 1e-12);
    assert_close(hand_shot_value(&list, "brew.ratio"), 34.0 / 18, 1e-12);
    assert_close(hand_shot_value(&list, "extraction.yield"), 34 * 9.5 / 18, 1e-12);
    /* trapezoid over the step of flow at 5 s: 3.9 s at 3 ml/s, 0.1 s at their mean */
    assert_close(hand_shot_value(&list, "preinfusion.water"), 3.9 * 3 + 0.1 * 2.5, 1e-9);
    assert_close(hand_shot_value(&list, "surge.loss"), 100 * (1 - 0.8 * 0.9), 1e-12);
    assert_close(hand_shot_value(&list, "surge.first"), 11, 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

static void mark_clipped(shot_table *shot, double from, double to, double value) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"clip";
    mark.channel = (char *)"pressure";
    mark.from = from;
    mark.to = to;
    mark.value = value;
    assert_int_equal(shot_table_mark(shot, &mark), SHOT_OK);
}

/* A gauge at the end of its scale shows a pressure that is held and no more: the mean has no
 * interval then, and nobody can say that it was held. */
static void a_clipped_gauge_gives_bounds(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    hand_shot_mark(&shot, "brew", 5, 25, NAN);
    mark_clipped(&shot, 5, 24, 9);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    const shot_measure *mean = shot_measure_list_find(&list, "brew.pressure");
    assert_close(mean->value, 9, 1e-12);
    assert_true(isnan(mean->low) && isnan(mean->high));
    assert_string_equal(mean->note,
                        "at least that: the gauge stood at the end of its scale for 19.0 s");
    assert_non_null(shot_measure_list_find(&list, "resistance.start")->note);
    assert_null(shot_measure_list_find(&list, "brew.pressure.slope"));
    assert_null(shot_measure_list_find(&list, "brew.pressure.steadiness"));
    assert_null(shot_measure_list_find(&list, "resistance.trend"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* A short overshoot moves no mean; and what stood still below the highest is no bound. */
static void a_short_clip_bounds_the_peak_alone(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    hand_shot_mark(&shot, "brew", 5, 25, NAN);
    mark_clipped(&shot, 5, 6, 9);
    mark_clipped(&shot, 5, 24, 8);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_non_null(shot_measure_list_find(&list, "pressure.peak")->note);
    assert_null(shot_measure_list_find(&list, "brew.pressure")->note);
    assert_non_null(shot_measure_list_find(&list, "brew.pressure.slope"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

static void add_surge(shot_table *shot, double from, double low, double value, double high) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"surge";
    mark.from = from;
    mark.to = from + 0.5;
    mark.value_low = low;
    mark.value = value;
    mark.value_high = high;
    assert_int_equal(shot_table_mark(shot, &mark), SHOT_OK);
}

/* One surge: its own interval.  Two alike: the logarithms of what they left have the half width of
 * one times the root of 2. */
static void the_loss_in_surges_has_an_interval(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    add_surge(&shot, 12, 10, 20, 30);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    const shot_measure *loss = shot_measure_list_find(&list, "surge.loss");
    assert_close(loss->low, 10, 1e-9);
    assert_close(loss->high, 30, 1e-9);
    shot_measure_list_free(&list);
    add_surge(&shot, 18, 10, 20, 30);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    loss = shot_measure_list_find(&list, "surge.loss");
    assert_close(loss->value, 36, 1e-9);
    assert_close(loss->low, 100 * (1 - 0.64 * exp(sqrt(2) * log(0.9 / 0.8))), 1e-9);
    assert_close(loss->high, 100 * (1 - 0.64 * exp(-sqrt(2) * log(0.8 / 0.7))), 1e-9);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

static void add_pulse(shot_table *shot, double from, double to, double lowest) {
    shot_mark mark = shot_mark_none();
    mark.kind = "pulse";
    mark.from = from;
    mark.to = to;
    mark.to_low = to - 0.05;
    mark.to_high = to + 0.05;
    mark.value = lowest;
    assert_int_equal(shot_table_mark(shot, &mark), SHOT_OK);
}

/* Two pulses of a second at 6 ml/s to 4 bar; then the pressure sinks as a capacity empties through
 * a resistance, to a half in log 2 of its time constant: 0.8 s after the first, 1.2 s after the
 * second. */
static void pulses_tell_what_they_did(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    static const char *const channels[] = {"pressure", "flow"};
    hand_shot_begin(&shot, false, channels, 2);
    for (int i = 0; i <= 1000; i++) {
        const double t = i / 100.0, since = t < 5 ? t - 2 : t - 6, tau = t < 5 ? 0.8 : 1.2;
        const bool on = since >= 0 && since <= 1;
        double row[] = {t, since < 0 ? 0 : on ? 4 : 4 * exp(-(since - 1) / tau), on ? 6 : 0};
        assert_int_equal(shot_rows_append_row(&shot.rows, row), SHOT_OK);
    }
    add_pulse(&shot, 2, 3, 0.1);
    add_pulse(&shot, 6, 7, 0.2);
    hand_shot_mark(&shot, "brew", 9.9, 10, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    /* an end known to 0.05 s, and half the 0.01 s between rows; the noise is that of rounding */
    const shot_measure *halving = shot_measure_list_find(&list, "pulse.halving");
    assert_close(halving->high - halving->value, 0.055, 0.002);
    assert_close(halving->value - halving->low, 0.055, 0.002);
    assert_close(hand_shot_value(&list, "pulse.peak"), 4, 1e-12);
    assert_close(hand_shot_value(&list, "pulse.water"), 12, 1e-9);
    assert_close(hand_shot_value(&list, "pulse.halving"), log(2), 1e-3); /* steps of 0.01 s */
    assert_close(hand_shot_value(&list, "pulse.period"), 4, 1e-12);
    assert_close(hand_shot_value(&list, "pulse.lowest"), 0.1, 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* A brew of which both ends are known to within a tenth and two tenths. */
static void measure_brew(double from, double to, shot_measure_list *list) {
    shot_table shot = {0};
    shot_mark brew = shot_mark_none();
    make_shot(&shot);
    brew.kind = (char *)"brew";
    brew.from = from;
    brew.from_low = from - 0.2;
    brew.from_high = from + 0.2;
    brew.to = to;
    brew.to_low = to - 0.1;
    brew.to_high = to + 0.1;
    assert_int_equal(shot_table_mark(&shot, &brew), SHOT_OK);
    assert_int_equal(shot_measures_of(&shot, list, NULL), SHOT_OK);
    shot_table_free(&shot);
}

/* What is read off at an end that may lie elsewhere is no surer than that end, though the samples
 * have no noise.  Outflow 34 g in 20 s, by slopes of 0 and 2 g/s at the ends; resistance on the
 * ramp of 2.25 bar/s at 3 ml/s. */
static void ends_that_are_not_sure_widen_what_is_read_off_there(void **state) {
    shot_measure_list list = {0};
    measure_brew(5, 25, &list);
    const shot_measure *outflow = shot_measure_list_find(&list, "brew.outflow");
    assert_close(outflow->high - outflow->value, hypot(1.7 * 0.2, 0.3 * 0.1) / 20, 1e-9);
    shot_measure_list_free(&list);
    measure_brew(2.9, 25, &list);
    const shot_measure *start = shot_measure_list_find(&list, "resistance.start");
    assert_close(start->value, 6.525 / 3, 1e-9);
    assert_close(start->high - start->value, 2.25 / 3 * 0.2, 1e-9);
    shot_measure_list_free(&list);
}

static void nothing_is_said_of_what_is_not_shown(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_true(isnan(hand_shot_value(&list, "brew.pressure")));
    assert_true(isnan(hand_shot_value(&list, "surge.count"))); /* nobody looked for surges */
    assert_close(hand_shot_value(&list, "pressure.peak"), 9, 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* A figure of the beginning is none of the shot: the cup is not known of a log that was cut, and
 * what the brew's end makes is only where that came. */
static void a_cut_log_lacks_what_only_the_whole_tells(void **state) {
    for (int ended = 0; ended < 2; ended++) {
        shot_table shot = {0};
        shot_measure_list list = {0};
        make_shot(&shot);
        shot.cut = true;
        hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
        hand_shot_mark(&shot, "brew", 5, ended ? 25 : NAN, NAN);
        shot_head_add_line(&shot.head, "history", "shot-surges");
        assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
        assert_close(hand_shot_value(&list, "preinfusion.time"), 4, 1e-12);
        assert_close(hand_shot_value(&list, "dose"), 18, 1e-12);
        assert_null(shot_measure_list_find(&list, "beverage.mass"));
        assert_null(shot_measure_list_find(&list, "brew.ratio"));
        assert_null(shot_measure_list_find(&list, "extraction.yield"));
        static const char *const of_brew[] = {"shot.time", "pressure.peak", "water.used",
                                              "surge.count"};
        for (size_t i = 0; i < sizeof of_brew / sizeof *of_brew; i++)
            assert_int_equal(shot_measure_list_find(&list, of_brew[i]) != NULL, ended);
        shot_measure_list_free(&list);
        shot_table_free(&shot);
    }
}

/* What passed while the meter was silent is not made up. */
static void water_is_not_known_across_a_hole(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    for (int i = 35; i < 80; i++) /* 3.5 to 7.9 s */
        shot.rows.column[2][i] = NAN;
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    hand_shot_mark(&shot, "fill", 1, 3, NAN);
    hand_shot_mark(&shot, "brew", 5, 25, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_null(shot_measure_list_find(&list, "preinfusion.water"));
    assert_null(shot_measure_list_find(&list, "water.used"));
    assert_close(hand_shot_value(&list, "fill.flow"), 3, 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* Without pressure nobody knows when the preinfusion ended, be its mark open or the instant that a
 * hand marked: the water of the whole shot is not that of the preinfusion, and the cup tells how
 * long the stream ran. */
static void preinfusion_ends_unknown(double to) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "preinfusion", 1, to, NAN);
    hand_shot_mark(&shot, "first-drip", 8, 8, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_null(shot_measure_list_find(&list, "preinfusion.time"));
    assert_null(shot_measure_list_find(&list, "preinfusion.water"));
    assert_null(shot_measure_list_find(&list, "preinfusion.water-share"));
    assert_null(shot_measure_list_find(&list, "preinfusion.share"));
    assert_null(shot_measure_list_find(&list, "first-drip.clock"));
    assert_close(hand_shot_value(&list, "first-drip.time"), 7, 1e-12);
    assert_close(hand_shot_value(&list, "water.used"), 3.9 * 3 + 0.1 * 2.5 + 20 * 2 + 0.1 * 1,
                 1e-9);
    assert_close(hand_shot_value(&list, "stream.time"), 0.95 * 17, 1e-9);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

static void a_preinfusion_without_end_has_no_water_of_its_own(void **state) {
    preinfusion_ends_unknown(NAN);
    preinfusion_ends_unknown(1);
}

static void none_found_is_a_figure_where_somebody_looked(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    shot_line line = {"history", "shot-surges --alarm-rate 1%"};
    assert_int_equal(shot_table_line(&shot, &line), SHOT_OK);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_close(hand_shot_value(&list, "surge.count"), 0, 0);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* Whoever read the log has said so; a class of a hundred logs is not stopped by one slip of the
 * pen. */
static void a_dose_that_is_no_mass_is_not_known(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    shot_error error = {0};
    make_shot(&shot);
    shot_line line = {"dose", "18 bar"};
    assert_int_equal(shot_table_line(&shot, &line), SHOT_OK);
    assert_int_equal(shot_measures_of(&shot, &list, &error), SHOT_OK);
    assert_null(shot_measure_list_find(&list, "dose"));
    assert_null(shot_measure_list_find(&list, "brew.ratio"));
    assert_non_null(shot_measure_list_find(&list, "beverage.mass"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* A slip of the pen: no ratio is less than nothing. */
static void a_dose_of_less_than_nothing_is_none(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    hand_shot_mark(&shot, "brew", 5, 25, NAN);
    shot_line line = {"dose", "-18 g"};
    assert_int_equal(shot_table_line(&shot, &line), SHOT_OK);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_non_null(shot_measure_list_find(&list, "beverage.mass"));
    assert_null(shot_measure_list_find(&list, "dose"));
    assert_null(shot_measure_list_find(&list, "brew.ratio"));
    assert_null(shot_measure_list_find(&list, "extraction.yield"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

static void names_are_unique_and_have_units_that_parse(void **state) {
    size_t count;
    const shot_measure_kind *kinds = shot_measure_kinds(&count);
    for (size_t i = 0; i < count; i++) {
        assert_ptr_equal(shot_measure_kind_named(kinds[i].name), &kinds[i]);
        assert_true(strlen(kinds[i].label) <= 30); /* the column of the page */
        assert_true(strlen(kinds[i].unit) <= 9);
    }
}

/* Names and what a page calls them differ; who has the one is told the other. */
static void a_name_that_is_none_is_told_what_may_be_meant(void **state) {
    shot_error error = {0};
    assert_int_equal(shot_measure_unknown("first drop after", &error), SHOT_ERR_DATA);
    assert_string_equal(error.what, "no shot has a measure or a number 'first drop after'; meant "
                                    "may be first-drip.time");
    shot_measure_unknown("pressure, in the brew", &error);
    assert_non_null(strstr(error.what, "meant may be brew.pressure"));
    shot_measure_unknown("first-drip", &error);
    assert_non_null(strstr(error.what, "meant may be first-drip.time, first-drip.clock"));
    shot_measure_unknown("", &error);
    assert_non_null(strstr(error.what, "shot-report --format csv prints"));
}

static void the_page_of_the_docs_has_every_measure(void **state) {
    static char page[64 * 1024];
    FILE *file = fopen(SHOT_FIXTURES "/../docs/measures.md", "r");
    assert_non_null(file);
    page[fread(page, 1, sizeof page - 1, file)] = '\0';
    fclose(file);
    size_t count;
    const shot_measure_kind *kinds = shot_measure_kinds(&count);
    for (size_t i = 0; i < count; i++) {
        char row[256];
        snprintf(row, sizeof row, "| `%s` | %s | %s | %s |\n", kinds[i].name, kinds[i].label,
                 kinds[i].unit, kinds[i].meaning);
        if (strstr(page, row) == NULL)
            print_error("docs/measures.md lacks: %s", row);
        assert_non_null(strstr(page, row));
    }
}

/* A scale and nothing else: when the first drop fell and how the cup filled is known all the same.
 * By hand: 34 g at 2 g/s from 8 s; 95 % of it, 32.3 g, is there 16.15 s later. */
static void a_scale_alone_tells_of_the_stream(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_shot(&shot);
    hand_shot_mark(&shot, "first-drip", 8, 8, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_close(hand_shot_value(&list, "first-drip.clock"), 8, 1e-12);
    assert_close(hand_shot_value(&list, "stream.time"), 16.15, 1e-9);
    assert_close(hand_shot_value(&list, "stream.outflow"), 2, 1e-9);
    assert_null(shot_measure_list_find(&list, "first-drip.time"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* A machine that works its flow out from the scale: nothing of it is water, and its stream tells of
 * the puck once drops fall. */
static void a_flow_of_the_beverage_is_no_water(void **state) {
    static const char *const channels[] = {"pressure", "flow"};
    shot_table shot = {0};
    shot_measure_list list = {0};
    hand_shot_begin(&shot, true, channels, 2);
    for (int i = 0; i <= 300; i++) {
        const double t = i / 10.0, p = t < 1 || t > 25 ? 0 : fmin(9, 9 * (t - 1) / 4);
        double row[] = {t, p, t < 8 || t > 25 ? 0 : 2};
        assert_int_equal(shot_rows_append_row(&shot.rows, row), SHOT_OK);
    }
    hand_shot_mark(&shot, "preinfusion", 1, 5, NAN);
    hand_shot_mark(&shot, "fill", 1, 3, NAN);
    hand_shot_mark(&shot, "brew", 5, 25, NAN);
    hand_shot_mark(&shot, "first-drip", 8, 8, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_true(isnan(hand_shot_value(&list, "water.used")));
    assert_true(isnan(hand_shot_value(&list, "preinfusion.water")));
    assert_true(isnan(hand_shot_value(&list, "fill.flow")));
    assert_true(isnan(hand_shot_value(&list, "brew.flow")));
    assert_true(isnan(hand_shot_value(&list, "model.wet-through")));
    assert_true(isnan(hand_shot_value(&list, "resistance.start")));
    assert_close(hand_shot_value(&list, "resistance.end"), 4.5, 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_that_can_be_worked_out_by_hand),
        cmocka_unit_test(a_clipped_gauge_gives_bounds),
        cmocka_unit_test(a_short_clip_bounds_the_peak_alone),
        cmocka_unit_test(the_loss_in_surges_has_an_interval),
        cmocka_unit_test(pulses_tell_what_they_did),
        cmocka_unit_test(a_scale_alone_tells_of_the_stream),
        cmocka_unit_test(ends_that_are_not_sure_widen_what_is_read_off_there),
        cmocka_unit_test(nothing_is_said_of_what_is_not_shown),
        cmocka_unit_test(a_cut_log_lacks_what_only_the_whole_tells),
        cmocka_unit_test(water_is_not_known_across_a_hole),
        cmocka_unit_test(a_preinfusion_without_end_has_no_water_of_its_own),
        cmocka_unit_test(none_found_is_a_figure_where_somebody_looked),
        cmocka_unit_test(a_dose_that_is_no_mass_is_not_known),
        cmocka_unit_test(a_dose_of_less_than_nothing_is_none),
        cmocka_unit_test(names_are_unique_and_have_units_that_parse),
        cmocka_unit_test(a_name_that_is_none_is_told_what_may_be_meant),
        cmocka_unit_test(the_page_of_the_docs_has_every_measure),
        cmocka_unit_test(a_flow_of_the_beverage_is_no_water),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
