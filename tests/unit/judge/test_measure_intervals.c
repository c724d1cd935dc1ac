/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: intervals of measures keep the lopsidedness of those of the marks, end where their
 * whole does, and hold what rounding and noise allow. */
#include <support/hand_shot.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/judge/measure.h>

/* 0..30 s in rows every `spacing` seconds, a channel each of the functions. */
typedef double (*curve)(double t);

static void make(shot_table *shot, double spacing, curve pressure, curve flow, curve weight) {
    static const char *const channels[] = {"pressure", "flow", "weight"};
    const curve curves[] = {pressure, flow, weight};
    hand_shot_begin(shot, false, channels, 3);
    for (int i = 0; i * spacing <= 30; i++) {
        double row[4] = {i * spacing, NAN, NAN, NAN};
        for (int c = 0; c < 3; c++)
            if (curves[c] != NULL)
                row[c + 1] = curves[c](row[0]);
        assert_int_equal(shot_rows_append_row(&shot->rows, row), SHOT_OK);
    }
}

static double needle(double t) { /* in whole bar */
    return t < 4 ? floor(2 * t) : t < 25 ? 9 : 0;
}

static double pump(double t) {
    return t < 2 || t > 25 ? 0 : t < 6 ? 6 + 0.01 * sin(90 * t) : 2 + 0.01 * sin(70 * t);
}

static double scale(double t) { /* in half grams */
    return t < 8 ? 0 : t < 25 ? floor(4 * (t - 8)) / 2 : 34;
}

static void add_mark(shot_table *shot, const char *kind, const double from[3], const double to[3]) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)kind;
    mark.from = from[0];
    mark.from_low = from[1];
    mark.from_high = from[2];
    mark.to = to[0];
    mark.to_low = to[1];
    mark.to_high = to[2];
    assert_int_equal(shot_table_mark(shot, &mark), SHOT_OK);
}

/* The measures of a shot whose preinfusion and brew have these ends. */
static void measure_between(shot_table *shot, const double water[3], const double full[3],
                            const double end[3], shot_measure_list *list) {
    add_mark(shot, "preinfusion", water, full);
    add_mark(shot, "brew", full, end);
    assert_int_equal(shot_measures_of(shot, list, NULL), SHOT_OK);
}

/* Water at 6.5 s, or at any time from 0 on: a gauge by hand does not tell. */
static void measure(shot_table *shot, shot_measure_list *list) {
    static const double water[] = {6.5, 0, 7.25}, full[] = {8, 7, 11}, end[] = {29, 28.5, 29.5};
    static const double rise[] = {6.8, 0.5, 7};
    add_mark(shot, "ramp", rise, full);
    measure_between(shot, water, full, end, list);
}

static const shot_measure *find(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    assert_non_null(one);
    return one;
}

static void arms_of_a_length_add_apart(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, needle, NULL, NULL);
    measure(&shot, &list);
    const shot_measure *whole = find(&list, "shot.time");
    assert_close(whole->value, 22.5, 1e-12);
    assert_close(whole->low, 22.5 - hypot(0.5, 0.75), 1e-12);
    assert_close(whole->high, 22.5 + hypot(0.5, 6.5), 1e-12);
    const shot_measure *clock = find(&list, "preinfusion.clock");
    assert_close(clock->value, 6.5, 1e-12);
    assert_close(clock->low, 0, 1e-12);
    assert_close(clock->high, 7.25, 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* The rise alone could be hypot(6.3, 3) s longer than its 1.2 s, the preinfusion hypot(6.5, 3). */
static void a_part_is_not_longer_than_its_whole(void **state) {
    static const double water[] = {6.5, 6, 7}, full[] = {8, 7, 11}, rise[] = {6.8, 0.5, 7};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, needle, NULL, NULL);
    add_mark(&shot, "preinfusion", water, full);
    add_mark(&shot, "ramp", rise, full);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_close(find(&list, "ramp.time")->high, 1.5 + hypot(0.5, 3), 1e-12);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* 1.5 of 22.5 s; were the water at 0, 8 of 29; at 7.25, 0.75 of 21.75; full at 11, 4.5 of 22.5 ...
 */
static void a_share_has_the_interval_of_its_ends(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, needle, NULL, NULL);
    measure(&shot, &list);
    const double value = 100 * 1.5 / 22.5;
    const shot_measure *share = find(&list, "preinfusion.share");
    assert_close(share->value, value, 1e-9);
    assert_close(share->high,
                 value + sqrt(pow(100 * 8 / 29.0 - value, 2) + pow(100 * 4.5 / 22.5 - value, 2) +
                              pow(100 * 1.5 / 22 - value, 2)),
                 1e-9);
    assert_close(share->low,
                 value - sqrt(pow(value - 100 * 0.75 / 21.75, 2) +
                              pow(value - 100 * 0.5 / 22.5, 2) + pow(value - 100 * 1.5 / 23, 2)),
                 1e-9);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* 6 ml/s from 2 s on: whoever lets the water in half a second sooner or later has 3 ml more or
 * less; the noise, 0.007 ml/s, counts for little beside that. */
static void water_has_the_interval_of_its_ends(void **state) {
    static const double water[] = {3, 2.5, 3.5}, full[] = {5, 5, 5}, end[] = {25, 25, 25};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, needle, pump, NULL);
    add_mark(&shot, "fill", water, full);
    measure_between(&shot, water, full, end, &list);
    const shot_measure *before = find(&list, "preinfusion.water"), *all = find(&list, "water.used");
    const shot_measure *fill = find(&list, "fill.flow");
    assert_close(before->value, 12, 0.05);
    assert_close(before->high - before->value, 3, 0.05);
    assert_close(before->value - before->low, 3, 0.05);
    assert_close(all->high - all->value, 3, 0.05);
    assert_close(fill->value, 6, 0.05); /* as it ran evenly, its ends do not matter */
    assert_true(fill->high - fill->low < 0.1);
    const shot_measure *share = find(&list, "preinfusion.water-share");
    assert_true(share->low < 100 * 9.0 / 53 + 1 && share->high > 100 * 15.0 / 59 - 1);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* The pump stops at 25 s, and the meter follows 0.4 s late, or shows each half second the mean of
 * the one before. */
static double meter_that_lags(double t) {
    return t < 2 ? 0
                 : 3 * (1 - exp(-(t - 2) / 0.4)) - (t < 25 ? 0 : 3 * (1 - exp(-(t - 25) / 0.4)));
}

static double meter_that_counts(double t) {
    const double gate = 0.5 * floor(t / 0.5 + 1e-9);
    return gate > 2 && gate <= 25 ? 3 + (fmod(gate, 1) < 0.25 ? 0.25 : -0.25) : 0;
}

/* 3 ml/s from 2 to 25 s, whatever the meter does. */
static void what_a_meter_shows_behind_the_stop_ran_before(void **state) {
    static const double water[] = {2, 2, 2}, full[] = {5, 5, 5}, end[] = {25, 24.95, 25.05};
    const curve meters[] = {meter_that_lags, meter_that_counts, pump};
    for (size_t i = 0; i < 3; i++) {
        shot_table shot = {0};
        shot_measure_list list = {0};
        make(&shot, 0.1, needle, meters[i], NULL);
        measure_between(&shot, water, full, end, &list);
        const shot_measure *all = find(&list, "water.used");
        const double truth = meters[i] == pump ? 4 * 6 + 19 * 2 : 69;
        assert_close(all->value, truth, 0.2);
        assert_true(all->low < truth && truth < all->high);
        assert_true(all->high - all->low < 1);
        shot_measure_list_free(&list);
        shot_table_free(&shot);
    }
}

static double tap(double t) {
    return t < 2 ? 0 : 3;
}

/* Water that runs on is no lag. */
static void water_that_runs_on_is_left_out(void **state) {
    static const double water[] = {2, 2, 2}, full[] = {5, 5, 5}, end[] = {25, 24.95, 25.05};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, needle, tap, NULL);
    measure_between(&shot, water, full, end, &list);
    assert_close(find(&list, "water.used")->value, 69, 0.2);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* 6 ml/s from a moment between the rows at 1.9 and 2 s on, nobody knows which: 0.3 ml more or less,
 * any of them as likely. */
static void a_jump_between_two_rows_is_in_the_interval(void **state) {
    static const double water[] = {1, 1, 1}, full[] = {5, 5, 5}, end[] = {25, 25, 25};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, needle, pump, NULL);
    measure_between(&shot, water, full, end, &list);
    const shot_measure *before = find(&list, "preinfusion.water"), *all = find(&list, "water.used");
    assert_close(before->high - before->value, 1.96 * 0.3 / sqrt(3), 0.05);
    assert_close(before->value - before->low, 1.96 * 0.3 / sqrt(3), 0.05);
    assert_true(all->value - all->low > 0.3);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* What is written in whole bar, and is 9 all the time, may be 8.5 or 9.5, and may climb by a bar.
 */
static void figures_that_are_all_equal_hold_half_a_step(void **state) {
    static const double water[] = {1, NAN, NAN}, full[] = {5, NAN, NAN}, end[] = {24, NAN, NAN};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 1, needle, NULL, scale);
    measure_between(&shot, water, full, end, &list);
    const shot_measure *level = find(&list, "brew.pressure");
    const shot_measure *slope = find(&list, "brew.pressure.slope");
    const shot_measure *scatter = find(&list, "brew.pressure.steadiness");
    const shot_measure *mass = find(&list, "beverage.mass");
    assert_close(level->low, 8.5, 1e-9);
    assert_close(level->high, 9.5, 1e-9);
    assert_close(slope->low, -1.0 / 19, 1e-9);
    assert_close(slope->high, 1.0 / 19, 1e-9);
    assert_close(scatter->high, 0.5, 1e-9);
    assert_true(mass->low <= 33.75 && mass->high >= 34.25);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* 3 % of the resistance a second are washed out, and a quarter goes at 15 s at once. */
static double held(double t) {
    return t < 5 ? 1.8 * t : 9;
}

static double washing(double t) {
    const double resistance = 4 * exp(-0.03 * (t - 5)) * (t <= 15 ? 1 : 0.75);
    return t < 5 ? 1 : 9 / resistance + 0.002 * sin(37 * t);
}

static void the_trend_leaves_the_surges_out(void **state) {
    static const double water[] = {0.5, NAN, NAN}, full[] = {5, NAN, NAN}, end[] = {29, NAN, NAN};
    static const double opens[] = {15, NAN, NAN}, open[] = {15.1, NAN, NAN};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, held, washing, NULL);
    add_mark(&shot, "surge", opens, open);
    measure_between(&shot, water, full, end, &list);
    const shot_measure *trend = find(&list, "resistance.trend");
    assert_close(trend->value, -3, 0.05);
    assert_true(trend->high - trend->low < 0.5);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* The brew may begin 2 s later, or a tenth of that sooner; its resistance rises then by 0.1 a
 * second at 2 ml/s, and the scale gains 0 at its start and 3 g/s at its end, where the mean is 1.5.
 */
static double rising(double t) {
    return t < 1 ? 0 : 8 + 0.2 * (t - 5);
}

static double steady(double t) {
    return t < 1 ? 0 : 2 + 1e-4 * sin(41 * t);
}

static double gaining(double t) {
    return t < 5 ? 0 : 0.075 * (t - 5) * (t - 5);
}

static double above(const shot_measure *one) {
    return one->high - one->value;
}

static double below(const shot_measure *one) {
    return one->value - one->low;
}

static void figures_beside_a_lopsided_end_are_lopsided(void **state) {
    static const double water[] = {1, NAN, NAN}, full[] = {5, 4.8, 7}, end[] = {25, 22, 25.3};
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 0.1, rising, steady, gaining);
    measure_between(&shot, water, full, end, &list);
    const shot_measure *first = find(&list, "resistance.start"),
                       *last = find(&list, "resistance.end");
    assert_close(above(first), 0.1 * 2, 0.005);
    assert_close(below(first), 0.1 * 0.2, 0.005);
    assert_close(above(last), 0.1 * 0.3, 0.005);
    assert_close(below(last), 0.1 * 3, 0.005);
    /* d rate / d start = rate / length there, d rate / d end = (slope - rate) / length */
    const shot_measure *rate = find(&list, "brew.outflow");
    assert_close(rate->value, 1.5, 0.01);
    assert_close(above(rate), hypot(1.5 / 20 * 2, 1.5 / 20 * 0.3), 0.02);
    assert_close(below(rate), hypot(1.5 / 20 * 0.2, 1.5 / 20 * 3), 0.02);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* Rows every 4 s show no pulse of a second: none seen is no count. */
static void none_is_no_count_where_none_could_be_seen(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make(&shot, 4, needle, NULL, NULL);
    const shot_line ran = {"history", "shot-pulses"};
    const shot_line blind = {
        "note", "shot-pulses: a row every 4 s: shorter pulses and gaps cannot be seen"};
    assert_int_equal(shot_table_line(&shot, &ran), SHOT_OK);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_non_null(shot_measure_list_find(&list, "pulse.count"));
    shot_measure_list_free(&list);
    assert_int_equal(shot_table_line(&shot, &blind), SHOT_OK);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_null(shot_measure_list_find(&list, "pulse.count"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(arms_of_a_length_add_apart),
        cmocka_unit_test(a_part_is_not_longer_than_its_whole),
        cmocka_unit_test(a_share_has_the_interval_of_its_ends),
        cmocka_unit_test(water_has_the_interval_of_its_ends),
        cmocka_unit_test(a_jump_between_two_rows_is_in_the_interval),
        cmocka_unit_test(what_a_meter_shows_behind_the_stop_ran_before),
        cmocka_unit_test(water_that_runs_on_is_left_out),
        cmocka_unit_test(figures_that_are_all_equal_hold_half_a_step),
        cmocka_unit_test(the_trend_leaves_the_surges_out),
        cmocka_unit_test(figures_beside_a_lopsided_end_are_lopsided),
        cmocka_unit_test(none_is_no_count_where_none_could_be_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
