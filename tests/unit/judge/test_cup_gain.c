/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the beverage is what ran into the cup, whatever a hand did to the cup or the scale, and
 * a shot that nobody touched is what the scale shows, to the bit. */
#include <support/hand_shot.h>

#include <string.h>

#include <shottrace/judge/measure.h>
#include <shottrace/signal/random.h>

#include "judge/cup_gain.h"

enum { ROWS = 400 };
static const double water = 2, stop = 30, rate = 2, steps = 0.1;

/* What is in the cup at a time: from 8 s on 2 g/s, and 1 g of last drops. */
static double in_cup(double t) {
    return t < 8 ? 0 : t < stop ? rate * (t - 8) : rate * (stop - 8) + fmin(1, (t - stop) / 3);
}

static double true_mass(void) {
    return in_cup(40);
}

typedef double (*told)(double t, double mass);

/* 40 s at 10 Hz of a scale that shows tenths of a gram and is off by as much. */
static void make_shot(shot_table *shot, told scale) {
    static const char *const channels[] = {"pressure", "flow", "weight"};
    shot_random random = shot_random_at(16, 0);
    hand_shot_begin(shot, true, channels, 3);
    for (int i = 0; i < ROWS; i++) {
        const double t = i / 10.0 + 0.003;
        const double shown = scale(t, in_cup(t)) + 0.05 * shot_random_normal(&random);
        const double row[] = {t, t > water && t < stop ? 9 : 0, t > water && t < stop ? 2.2 : 0,
                              steps * nearbyint(shown / steps)};
        assert_int_equal(shot_rows_append_row(&shot->rows, row), SHOT_OK);
    }
    hand_shot_mark(shot, "preinfusion", water, 6, NAN);
    hand_shot_mark(shot, "brew", 6, stop, NAN);
}

static double plain(double t, double mass) {
    return mass;
}

/* A cup that is knocked rings for half a second. */
static double knocked(double t, double mass) {
    return t > 15 && t < 15.4 ? mass + 8 * cos(30 * (t - 15)) : mass;
}

static double tared(double t, double mass) {
    return t < 18 ? mass : mass - in_cup(18);
}

static double with_spoon(double t, double mass) {
    return t < 19 ? mass : mass + 14.2;
}

static double with_spoon_before_drops(double t, double mass) {
    return t < 5 ? mass : mass + 14.2;
}

/* The cup of 120 g is taken away for a second, and another one of 90 g comes. */
static double changed(double t, double mass) {
    return t < 20 ? mass : t < 21 ? -120 : mass - in_cup(21) - 30;
}

static double lifted_after(double t, double mass) {
    return t < 34 ? mass : -120;
}

/* The puck is knocked out beside it. */
static double handled_after(double t, double mass) {
    return t < 33.5 ? mass : 60 + 20 * sin(7 * t);
}

/* Somebody leans on the cup, and it stays. */
static double leant_on_after(double t, double mass) {
    return t > 33 && t < 35 ? mass + 60 : mass;
}

static double not_tared(double t, double mass) {
    return mass + 120.3;
}

static double put_on_and_tared_before(double t, double mass) {
    return t < 0.5 ? -120 : mass;
}

static double off_to_zero(double t, double mass) {
    return t < 21 ? mass : 0;
}

static double off(double t, double mass) {
    return t < 21 ? mass : NAN;
}

static shot_measure beverage(told scale, shot_measure_list *list) {
    shot_table shot = {0};
    make_shot(&shot, scale);
    assert_int_equal(shot_measures_of(&shot, list, NULL), SHOT_OK);
    const shot_measure *mass = shot_measure_list_find(list, "beverage.mass");
    assert_non_null(mass);
    shot_table_free(&shot);
    return *mass;
}

/* Right to half a gram or its interval, which holds the truth, with a tenth for the mean of steps.
 */
static void expect(told scale, const char *words) {
    shot_measure_list list = {0};
    const shot_measure mass = beverage(scale, &list);
    const char *note = mass.note != NULL ? mass.note : "";
    const double wide = mass.high - mass.value;
    if (!(fabs(mass.value - true_mass()) < fmax(0.5, wide) && wide < 4 &&
          mass.low <= true_mass() + 0.1 && true_mass() - 0.1 <= mass.high))
        fail_msg("%g g (%g to %g) for %g: %s", mass.value, mass.low, mass.high, true_mass(), note);
    if (*words == '\0' ? *note != '\0' : strstr(note, words) == NULL)
        fail_msg("'%s' is not in: %s", words, note);
    shot_measure_list_free(&list);
}

static void hands_on_the_cup_are_no_beverage(void **state) {
    expect(plain, "");
    expect(knocked, "");
    expect(tared, "leapt 15.9 s after the water");
    expect(with_spoon, "leapt 16.9 s after the water");
    expect(with_spoon_before_drops, "leapt");
    expect(changed, "leapt");
    expect(lifted_after, "before the cup was touched, 31.9 s after the water");
    expect(handled_after, "before the cup was touched");
    expect(leant_on_after, "");
    expect(not_tared, "the 120.3 g on the scale before the water are taken off");
    expect(put_on_and_tared_before, "");
}

/* The rate over the brew is that of the stream too. */
static void the_rate_is_that_of_the_stream(void **state) {
    static const told scales[] = {plain, tared, with_spoon, changed};
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++) {
        shot_measure_list list = {0};
        (void)beverage(scales[i], &list);
        assert_close(hand_shot_value(&list, "brew.outflow"), rate * (stop - 8) / (stop - 6), 0.05);
        shot_measure_list_free(&list);
    }
}

/* A scale that went off tells the least that it can have been, and no interval. */
static void a_scale_that_falls_silent_is_a_bound(void **state) {
    static const told scales[] = {off_to_zero, off};
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++) {
        shot_measure_list list = {0};
        const shot_measure mass = beverage(scales[i], &list);
        assert_close(mass.value, in_cup(21), 0.3);
        assert_true(isnan(mass.low) && isnan(mass.high));
        assert_non_null(strstr(mass.note, "at least that"));
        assert_null(shot_measure_list_find(&list, "brew.outflow"));
        shot_measure_list_free(&list);
    }
}

static void an_untouched_scale_passes_to_the_bit(void **state) {
    shot_table shot = {0};
    cup_gain gain;
    make_shot(&shot, plain);
    assert_int_equal(cup_gain_find(&shot, NULL, (cup_times){water, stop}, &gain), SHOT_OK);
    assert_memory_equal(gain.weight, shot_table_column(&shot, "weight"),
                        ROWS * sizeof *gain.weight);
    cup_gain_free(&gain);
    shot_table_free(&shot);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hands_on_the_cup_are_no_beverage),
        cmocka_unit_test(the_rate_is_that_of_the_stream),
        cmocka_unit_test(a_scale_that_falls_silent_is_a_bound),
        cmocka_unit_test(an_untouched_scale_passes_to_the_bit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
