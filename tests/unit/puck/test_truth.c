/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the truth of a brew follows the definitions of the marks, computed here by hand on
 * brews made by hand. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <support/analytic_shot.h>
#include <shottrace/puck/truth.h>

/* A brew whose pressure goes straight from knot to knot. */
struct knot {
    double t, bar;
};

static shot_brew *brew_from(const struct knot *knots, size_t count, double main_rise, double off) {
    shot_brew *brew = calloc(1, sizeof *brew);
    brew->count = (size_t)(knots[count - 1].t / SHOT_BREW_STEP + 1.5);
    brew->moments = calloc(brew->count, sizeof *brew->moments);
    brew->runs = calloc(4, sizeof *brew->runs);
    for (size_t i = 0, k = 0; i < brew->count; i++) {
        const double t = (double)i * SHOT_BREW_STEP;
        while (k + 2 < count && t > knots[k + 1].t)
            k++;
        const double part = (t - knots[k].t) / (knots[k + 1].t - knots[k].t);
        brew->moments[i].puck = knots[k].bar + part * (knots[k + 1].bar - knots[k].bar);
        brew->moments[i].pump = brew->moments[i].puck;
    }
    brew->water_in = 0;
    brew->main_rise = main_rise;
    brew->pump_off = off;
    brew->first_drip = 7;
    brew->run_count = 1;
    brew->runs[0] = (shot_brew_span){0, off, NAN};
    return brew;
}

static shot_truth_list find(const shot_brew *brew) {
    shot_recipe recipe = {.machine.gauge_at_puck = 1};
    shot_truth_list truth = {0};
    assert_int_equal(shot_truth_find(&recipe, brew, &truth), SHOT_OK);
    return truth;
}

static void check_interval(const shot_truth_list *truth, const char *kind, double from, double to) {
    for (size_t i = 0; i < truth->count; i++)
        if (strcmp(truth->items[i].kind, kind) == 0) {
            assert_close(truth->items[i].from, from, 0.011); /* a step of the brew */
            assert_close(truth->items[i].to, to, 0.011);
            return;
        }
    fail_msg("no %s", kind);
}

static size_t count_of(const shot_truth_list *truth, const char *kind) {
    size_t count = 0;
    for (size_t i = 0; i < truth->count; i++)
        count += strcmp(truth->items[i].kind, kind) == 0;
    return count;
}

/* The textbook shot: 0-6.5 s to 8.7 bar, to 9.0 at 7.0, held to 27, off at 28.  By the definition
 * of preinfusion the first level not exceeded by more than 3 % is 9/1.03 = 8.737864 bar, 95 % of it
 * is 8.300971 bar, reached on the ramp at 6.5 * 8.300971/8.7 = 6.201875 s. */
static void the_textbook_shot_has_its_exact_marks(void **state) {
    static const struct knot knots[] = {{0, 0}, {6.5, 8.7}, {7, 9}, {27, 9}, {28, 0}, {30, 0}};
    shot_brew *brew = brew_from(knots, 6, 0, 27);
    shot_truth_list truth = find(brew);
    check_interval(&truth, "preinfusion", 0, 6.201875);
    check_interval(&truth, "fill", 0, 6.5 * 0.5 / 8.7);
    check_interval(&truth, "ramp", 6.5 * 0.5 / 8.7, 6.201875);
    check_interval(&truth, "brew", 6.201875, 27);
    check_interval(&truth, "release", 27, 28 - 0.5 / 9);
    check_interval(&truth, "first-drip", 7, 7);
    assert_int_equal(count_of(&truth, "soak"), 0);
    static const double knee[] = {0, 6.5, 7, 27, 28};
    static const double change[] = {8.7 / 6.5, 0.6 - 8.7 / 6.5, -0.6, -9, 9};
    size_t found = 0;
    for (size_t i = 0; i < truth.count; i++)
        if (strcmp(truth.items[i].kind, "knee") == 0) {
            assert_in_range(found, 0, 4);
            assert_close(truth.items[i].from, knee[found], 0.011);
            assert_close(truth.items[i].value, change[found], 0.02);
            found++;
        }
    assert_int_equal(found, 5);
    shot_truth_free(&truth);
    shot_brew_free(brew);
}

/* A held pre-wetting: fill ends at half of the held pressure, the soak lasts until the rise. */
static void a_held_soak_has_its_phases(void **state) {
    static const struct knot knots[] = {{0, 0},  {2, 0},  {3, 2},    {15, 2},
                                        {17, 9}, {35, 9}, {35.5, 0}, {40, 0}};
    shot_brew *brew = brew_from(knots, 8, 15, 35);
    shot_truth_list truth = find(brew);
    check_interval(&truth, "fill", 0, 2.5);
    check_interval(&truth, "soak", 2.5, 15);
    check_interval(&truth, "ramp", 15, 15 + 2 * (0.95 * (9 / 1.03) - 2) / 7);
    shot_truth_free(&truth);
    shot_brew_free(brew);
}

/* Water shut off before the main rise: that ends the fill, whatever the pressure; the run is a
 * pulse whose value is the lowest pressure after it. */
static void a_shut_soak_has_its_phases_and_its_pulse(void **state) {
    static const struct knot knots[] = {{0, 0},  {4, 3},  {12, 0.6}, {12.5, 0.6},
                                        {14, 9}, {30, 6}, {31, 0},   {33, 0}};
    shot_brew *brew = brew_from(knots, 8, 12.5, 30);
    brew->run_count = 2;
    brew->runs[0] = (shot_brew_span){0, 4, NAN};
    brew->runs[1] = (shot_brew_span){12.5, 30, NAN};
    shot_truth_list truth = find(brew);
    check_interval(&truth, "fill", 0, 4);
    check_interval(&truth, "soak", 4, 12.5);
    check_interval(&truth, "pulse", 0, 4);
    for (size_t i = 0; i < truth.count; i++)
        if (strcmp(truth.items[i].kind, "pulse") == 0)
            assert_close(truth.items[i].value, 0.6, 1e-6);
    shot_truth_free(&truth);
    shot_brew_free(brew);
}

/* A channel counts as a surge only where the definition holds. */
static void only_sudden_losses_at_steady_pressure_are_surges(void **state) {
    static const struct {
        double seconds, value, bar_then;
        bool surge;
    } cases[] = {
        {0.5, 0.2, 9, true},   {2, 0.05, 9, true},   {0.5, 0.2, 7, true}, /* falling */
        {0.5, 0.2, 10, false},                                            /* rising */
        {3, 0.2, 9, false},    {0.1, 0.2, 9, false}, {0.5, 0.04, 9, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const double to = 20 + cases[i].seconds;
        const struct knot knots[] = {{0, 0},  {2, 9}, {20, 9}, {to, cases[i].bar_then},
                                     {30, 9}, {31, 0}};
        shot_brew *brew = brew_from(knots, 6, 0, 30);
        brew->channels = calloc(1, sizeof *brew->channels);
        brew->channel_count = 1;
        brew->channels[0] = (shot_brew_span){20, to, cases[i].value};
        shot_truth_list truth = find(brew);
        assert_int_equal(count_of(&truth, "surge"), cases[i].surge);
        shot_truth_free(&truth);
        shot_brew_free(brew);
    }
}

/* An exponential approach has a knee where it starts and nowhere else. */
static void a_slow_bend_is_no_knee(void **state) {
    enum { N = 301 };
    struct knot knots[N];
    for (int i = 0; i < N; i++) { /* exponential approach with 3 s, then off */
        const double t = 0.1 * i;
        knots[i] = (struct knot){t, 9 * (1 - exp(-t / 3))};
    }
    shot_brew *brew = brew_from(knots, N, 0, 29);
    shot_truth_list truth = find(brew);
    check_interval(&truth, "knee", 0, 0);
    assert_int_equal(count_of(&truth, "knee"), 1);
    shot_truth_free(&truth);
    shot_brew_free(brew);
}

/* The two generators compute the phases independently: the same curve must give the same. */
static void both_generators_agree_on_the_definitions(void **state) {
    analytic_shot *shot;
    assert_int_equal(analytic_shot_textbook(100, 0, 1, &shot), SHOT_OK);
    for (size_t i = 0; i < shot->truth.count; i++)
        if (strcmp(shot->truth.items[i].kind, "preinfusion") == 0)
            assert_close(shot->truth.items[i].to, 6.201875, 0.004);
    analytic_shot_free(shot);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_textbook_shot_has_its_exact_marks),
        cmocka_unit_test(a_held_soak_has_its_phases),
        cmocka_unit_test(a_shut_soak_has_its_phases_and_its_pulse),
        cmocka_unit_test(only_sudden_losses_at_steady_pressure_are_surges),
        cmocka_unit_test(a_slow_bend_is_no_knee),
        cmocka_unit_test(both_generators_agree_on_the_definitions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
