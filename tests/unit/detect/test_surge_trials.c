/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the interval of a size is that of a ratio whose denominator is not known either, and
 * what the wander of the trend adds to it does not make the onset less known. */
#include <support/check.h>
#include <support/held_brew.h>

#include <stdlib.h>

#include <detect/surge_trials.h>

/* Fieller 1954, 'Some problems in interval estimation', J. R. Stat. Soc. B 16:175-185: x lies
 * within where (gain - x)^2 <= z^2 (se^2 + v (2 x + x^2)), of a rise with that standard error, v of
 * which is the variance of what it rises from; the ends are the roots of the square. */
static double fieller(double gain, double se, double v, double z, double sign) {
    const double a = 1 - z * z * v, b = gain + z * z * v, c = gain * gain - z * z * se * se;
    const double x = (b + sign * sqrt(b * b - a * c)) / a;
    return x / (1 + x);
}

static void expect_fieller(double gain, double se, double base_se) {
    const double z = 1.959963984540054; /* of 95 % */
    surge_trial one = {.gain = gain, .gain_se = se, .score = gain / se, .weight = 1};
    const surge_trials trials = {
        .items = &one, .count = 1, .step = 0.01, .contradiction = 1, .base_se = base_se};
    const surge_figure loss = surge_trials_loss(&trials, 0.95);
    assert_close(loss.mean, gain / (1 + gain), 1e-12);
    assert_close(loss.low, fieller(gain, se, base_se * base_se, z, -1), 1e-6);
    assert_close(loss.high, fieller(gain, se, base_se * base_se, z, 1), 1e-6);
}

/* 9 to 50 % of the resistance, from a base that is known well, and to a tenth. */
static void a_size_is_a_ratio(void **state) {
    expect_fieller(0.1, 0.02, 0);
    expect_fieller(0.1, 0.02, 0.015);
    expect_fieller(0.5, 0.05, 0.03);
    expect_fieller(1, 0.15, 0.1);
}

/* A base that may be nothing, two standard errors being more than all of it, tells no upper end. */
static void from_nothing_known_all_may_be_lost(void **state) {
    surge_trial one = {.gain = 1, .gain_se = 0.6, .score = 1.7, .weight = 1};
    const surge_trials trials = {
        .items = &one, .count = 1, .step = 0.01, .contradiction = 1, .base_se = 0.6};
    assert_close(surge_trials_loss(&trials, 0.95).high, 1, 1e-6);
}

static const conductance_opening opening = {.onset = 10, .seconds = 0.5, .scar = 1};

typedef struct intervals {
    double onset, loss; /* their widths */
} intervals;

/* With all variances `larger` than they were found, of which `spread` is of the size alone. */
static intervals measured(double larger, const double *spread) {
    held_brew flow; /* a bed that opens by a third */
    held_brew_make(&flow, HELD_MOST, opening.onset, opening.seconds, 1.0 / 3, 0.08, 3);
    conductance_data *channels[] = {&flow.data};
    surge_scan scan;
    surge_trials trials;
    const surge_grid grid = {.first = 9,
                             .step = 0.02,
                             .onsets = 101,
                             .lengths = {0.3, 0.4, 0.5, 0.6, 0.8, 1.2},
                             .length_count = 6,
                             .forms = CONDUCTANCE_GENTLE + 1,
                             .drain_step = 1,
                             .drains = 1,
                             .gates = 1,
                             .spread = spread};
    assert_int_equal(surge_scan_new(channels, 1, 5, 15, &scan), SHOT_OK);
    assert_int_equal(surge_scan_fit(&scan, &opening), SHOT_OK);
    scan.channels[0].filter.scale *= larger;
    assert_int_equal(surge_trials_new(&scan, &grid, &trials), SHOT_OK);
    const surge_figure onset = surge_trials_onset(&trials, 0.95);
    const surge_figure loss = surge_trials_loss(&trials, 0.95);
    free(trials.items);
    surge_scan_free(&scan);
    return (intervals){onset.high - onset.low, loss.high - loss.low};
}

/* A variance four times as large doubles either interval; one that is the size's alone that of the
 * size. */
static void wander_makes_the_size_uncertain(void **state) {
    const double four = 4;
    const intervals plain = measured(1, NULL), both = measured(4, NULL), one = measured(4, &four);
    assert_float_equal(one.onset, plain.onset, 1e-6);
    assert_true(both.onset > 1.4 * plain.onset);
    assert_float_equal(one.loss, both.loss, 1e-6);
    assert_close(one.loss, 2 * plain.loss, 0.3 * plain.loss);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_size_is_a_ratio),
        cmocka_unit_test(from_nothing_known_all_may_be_lost),
        cmocka_unit_test(wander_makes_the_size_uncertain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
