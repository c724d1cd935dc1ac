/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: how far a shot kept to what was asked for, on step responses whose figures are known in
 * closed form; the shape of a brew; what rests on a model. */
#include <support/hand_shot.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/judge/measure.h>

static const double pi = 3.14159265358979323846;

/* The unit step response of a second-order system of damping 0.5 and natural frequency w. */
static double response(double t, double w) {
    double damping = 0.5, d = sqrt(1 - damping * damping);
    return t <= 0 ? 0 : 1 - exp(-damping * w * t) / d * sin(w * d * t + acos(damping));
}

/* 9 bar are asked for from 5 s on; the machine answers as a second-order system. */
static void make_response(shot_table *shot, double shift, bool own) {
    static const char *const channels[] = {"pressure", "wanted.pressure"};
    hand_shot_begin(shot, true, channels, own ? 2 : 1);
    for (int i = 0; i <= 3000; i++) {
        double t = i / 100.0;
        double row[] = {t, 9 * response(t - 5 - shift, 2), t < 5 + shift ? 0 : 9};
        assert_int_equal(shot_rows_append_row(&shot->rows, row), SHOT_OK);
    }
}

/* Ogata 2010, Modern Control Engineering, eq. 5-21: the overshoot of a second-order system is
 * exp(-pi damping / sqrt(1 - damping^2)), 16.3 % here; it stays within 5 % from 2.65 s on (the last
 * crossing of the band by the response itself, found on a fine grid).  The mean over h = 0.5 s is
 * lower than a peak by h^2/24 of its second derivative, w^2 times the overshoot, and at most h
 * late. */
static void overshoot_and_settling_are_those_of_the_step_response(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_response(&shot, 0, true);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    double over = 9 * exp(-pi * 0.5 / sqrt(0.75)), settled = 0;
    for (double t = 0; t < 20; t += 1e-4)
        settled = fabs(response(t, 2) - 1) > 0.05 ? t : settled;
    assert_close(hand_shot_value(&list, "wanted.pressure.overshoot"), over * (1 - 4 * 0.25 / 24),
                 0.01);
    assert_close(hand_shot_value(&list, "wanted.pressure.settling"), settled, 0.5);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* A curve of its own, whose clock starts elsewhere, says the same as a channel of the shot. */
static void a_curve_is_laid_with_its_water_on_the_shots(void **state) {
    static const char *const channels[] = {"pressure"};
    shot_table shot = {0}, with = {0}, curve = {0};
    shot_measure_list list = {0}, own = {0};
    make_response(&shot, 3, false);
    make_response(&with, 3, true);
    hand_shot_mark(&shot, "preinfusion", 8, 9, NAN);
    hand_shot_mark(&with, "preinfusion", 8, 9, NAN);
    hand_shot_begin(&curve, true, channels, 1);
    for (int i = 0; i <= 500; i++) {
        double row[] = {100 + i / 10.0, 9};
        assert_int_equal(shot_rows_append_row(&curve.rows, row), SHOT_OK);
    }
    hand_shot_mark(&curve, "preinfusion", 100, 101, NAN);
    assert_int_equal(shot_measures_against(&shot, &curve, &list, NULL), SHOT_OK);
    assert_int_equal(shot_measures_of(&with, &own, NULL), SHOT_OK);
    static const char *const figures[] = {"deviation", "bias", "overshoot", "settling"};
    for (size_t i = 0; i < 4; i++) {
        char name[64];
        snprintf(name, sizeof name, "wanted.pressure.%s", figures[i]);
        assert_close(hand_shot_value(&list, name), hand_shot_value(&own, name), 1e-9);
    }
    shot_measure_list_free(&list);
    shot_measure_list_free(&own);
    shot_table_free(&shot);
    shot_table_free(&with);
    shot_table_free(&curve);
}

static void nothing_is_compared_where_nothing_was_wanted(void **state) {
    shot_table shot = {0};
    shot_measure_list list = {0};
    make_response(&shot, 0, false);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_null(shot_measure_list_find(&list, "wanted.pressure.deviation"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* ---- the shape of a brew ---- */

static double held(double t) {
    return 9;
}
static double spring(double t) {
    return 9 - 0.15 * (t - 5);
}
static double stepped(double t) {
    return t < 20 ? 9 : t < 21 ? 9 - 3 * (t - 20) : 6;
}

static double stepped_at_once(double t) {
    return t < 17 ? 9 : 6;
}
static double bent(double t) {
    return t < 18 ? 9 : 9 - 0.2 * (t - 18);
}
static double bent_back(double t) {
    return t < 18 ? 6 + 0.2 * (18 - t) : 6;
}
static double small_fall(double t) {
    return 9 - 0.025 * (t - 5);
}

/* `change` is that of a step, or of a bend: `what` says which. */
static void check_shape(double (*pressure)(double), const char *words, const char *what,
                        double change, double at) {
    static const char *const channels[] = {"pressure"};
    shot_table shot = {0};
    shot_measure_list list = {0};
    hand_shot_begin(&shot, true, channels, 1);
    for (int i = 0; i <= 300; i++) {
        double t = i / 10.0, noise = 0.02 * sin(i * 1.7) + 0.02 * sin(i * 2.9);
        double row[] = {t, pressure(t) + noise};
        assert_int_equal(shot_rows_append_row(&shot.rows, row), SHOT_OK);
    }
    hand_shot_mark(&shot, "preinfusion", 0, 5, NAN);
    hand_shot_mark(&shot, "brew", 5, 30, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    assert_string_equal(shot_measure_list_find(&list, "brew.pressure.slope")->note, words);
    if (what == NULL) {
        assert_null(shot_measure_list_find(&list, "brew.pressure.step"));
        assert_null(shot_measure_list_find(&list, "brew.pressure.bend"));
    } else {
        char name[48];
        snprintf(name, sizeof name, "brew.pressure.%s", what);
        assert_close(hand_shot_value(&list, name), change, 0.05);
        snprintf(name, sizeof name, "brew.pressure.%s-time", what);
        /* a step shows within a row or so, a bend only by what comes of it */
        assert_close(hand_shot_value(&list, name), at, strcmp(what, "step") == 0 ? 0.11 : 0.5);
    }
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

static void a_brew_is_held_falling_or_stepped(void **state) {
    check_shape(held, "held", NULL, NAN, NAN);
    check_shape(small_fall, "falling slightly", NULL, NAN, NAN);
    check_shape(spring, "falling evenly", NULL, NAN, NAN);
    check_shape(stepped, "stepped down", "step", -3, 20.5);
    check_shape(stepped_at_once, "stepped down", "step", -3, 17);
}

/* By hand: 12 s at 0.2 bar/s; the whole from 5 to 18 s at 0.2 bar/s. */
static void a_brew_may_be_held_in_part(void **state) {
    check_shape(bent, "held, then falling evenly", "bend", -2.4, 18);
    check_shape(bent_back, "falling evenly, then held", "bend", -2.6, 18);
}

/* ---- by a model ---- */

/* 3 ml/s of water from 0 s on: 0.85 to 1.4 ml a g of 18 g and 5 to 32 ml need 6.8 to 19.1 s; the
 * first drop at 14 s ends the range. */
static void wet_through_is_a_range_that_ends_at_the_first_drop(void **state) {
    static const char *const channels[] = {"flow"};
    shot_table shot = {0};
    shot_measure_list list = {0};
    hand_shot_begin(&shot, true, channels, 1);
    for (int i = 0; i <= 300; i++) {
        double row[] = {i / 10.0, 3};
        assert_int_equal(shot_rows_append_row(&shot.rows, row), SHOT_OK);
    }
    hand_shot_mark(&shot, "preinfusion", 0, 10, NAN);
    hand_shot_mark(&shot, "first-drip", 14, 14, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    const shot_measure *wet = shot_measure_list_find(&list, "model.wet-through");
    assert_non_null(wet);
    assert_close(wet->value, (1.1 * 18 + 16) / 3, 1e-9);
    assert_close(wet->low, (0.85 * 18 + 5) / 3, 1e-9);
    assert_close(wet->high, 14, 1e-9);
    assert_true(isnan(wet->level)); /* a range of assumptions is no confidence interval */
    assert_non_null(strstr(wet->note, "assumes"));
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

/* 2 g/s from 5 s to 23 s, shown a second later; preinfusion ends at 9 s, when 8 of 36 g had left
 * the spout.  With 10 % of 36 g dissolved that is 0.8 g at one strength throughout, and by washing
 * 3.6 (1 - exp(-8 / (18 k))) / (1 - exp(-36 / (18 k))) at k of 0.85 and 0.6 doses. */
static void early_solids_are_between_one_strength_and_washing(void **state) {
    static const char *const channels[] = {"weight"};
    shot_table shot = {0};
    shot_measure_list list = {0};
    hand_shot_begin(&shot, true, channels, 1);
    shot_head_add_line(&shot.head, "tds", "10 %");
    shot_head_add_line(&shot.head, "scale.lag", "1 s");
    for (int i = 0; i <= 300; i++) {
        const double t = i / 10.0;
        double row[] = {t, 2 * fmin(fmax(t - 6, 0), 18)};
        assert_int_equal(shot_rows_append_row(&shot.rows, row), SHOT_OK);
    }
    hand_shot_mark(&shot, "preinfusion", 0, 9, NAN);
    assert_int_equal(shot_measures_of(&shot, &list, NULL), SHOT_OK);
    const shot_measure *early = shot_measure_list_find(&list, "model.early-solids");
    assert_non_null(early);
    /* the half second about a moment of a straight rise is that moment, to half a row: 0.1 g */
    assert_close(early->low, 0.8, 0.011);
    assert_close(early->value, 3.6 * (1 - exp(-8 / 15.3)) / (1 - exp(-36 / 15.3)), 0.02);
    assert_close(early->high, 3.6 * (1 - exp(-8 / 10.8)) / (1 - exp(-36 / 10.8)), 0.02);
    shot_measure_list_free(&list);
    shot_table_free(&shot);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(overshoot_and_settling_are_those_of_the_step_response),
        cmocka_unit_test(a_curve_is_laid_with_its_water_on_the_shots),
        cmocka_unit_test(nothing_is_compared_where_nothing_was_wanted),
        cmocka_unit_test(a_brew_is_held_falling_or_stepped),
        cmocka_unit_test(a_brew_may_be_held_in_part),
        cmocka_unit_test(wet_through_is_a_range_that_ends_at_the_first_drop),
        cmocka_unit_test(early_solids_are_between_one_strength_and_washing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
