/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The yardstick that intervals of onsets are held against. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/random.h>

#include "support/ideal_opening.h"

enum { POINTS = 2001, ROWS = 501, UNKNOWNS = 5 };
static const double onset = 10, seconds = 0.8, loss = 0.2, flow = 2; /* ml/s before */
static const double from = 5, spacing = 0.02, held = 8;              /* s, s, bar */

static double puck[POINTS], conductance[POINTS], curve[POINTS], weight[POINTS], logged[ROWS],
    times[ROWS];

static double open_at(double t, double begins, double takes) {
    return fmin(fmax((t - begins) / takes, 0), 1);
}

static ideal_curves curves_with(double noise) {
    const double gain = loss / (1 - loss);
    for (int i = 0; i < POINTS; i++) {
        puck[i] = held;
        curve[i] = flow * (1 + gain * open_at(0.01 * i, onset, seconds));
        conductance[i] = curve[i] / held;
        weight[i] = i > 0 ? weight[i - 1] + 0.01 * (curve[i] + curve[i - 1]) / 2 : 0;
    }
    for (int i = 0; i < ROWS; i++) {
        times[i] = from + spacing * i;
        logged[i] = 0;
    }
    return (ideal_curves){.step = 0.01,
                          .count = POINTS,
                          .channels = 1,
                          .curve = {curve},
                          .logged = {logged},
                          .noise = {noise},
                          .shows = {IDEAL_FLOW},
                          .puck = puck,
                          .conductance = conductance};
}

static double width_with(const ideal_curves *curves) {
    const ideal_opening opening = {onset, seconds, -INFINITY, INFINITY};
    return ideal_opening_width(curves, times, ROWS, &opening);
}

/* ---- the likeliest onset ---- */

/* What x = (onset, length, size, level, slope) leaves of y, and the derivatives of the model. */
static void linearize(const double x[UNKNOWNS], const double *y, double *columns, double *left) {
    for (int i = 0; i < ROWS; i++) {
        const double t = times[i], way = (t - x[0]) / x[1],
                     steep = way > 0 && way < 1 ? 1 / x[1] : 0;
        const double of[UNKNOWNS] = {-x[2] * steep, -x[2] * steep * way, open_at(t, x[0], x[1]), 1,
                                     t - onset};
        left[i] = y[i] - (x[2] * of[2] + x[3] + x[4] * of[4]);
        for (int k = 0; k < UNKNOWNS; k++)
            columns[k * ROWS + i] = of[k];
    }
}

/* By Gauss and Newton from the truth, in half steps, since the derivatives leap at the corners. */
static double likeliest_onset(const double *y) {
    static double columns[UNKNOWNS * ROWS], left[ROWS], work[(UNKNOWNS + 2) * (ROWS + 2) * 2];
    double x[UNKNOWNS] = {onset, seconds, flow * loss / (1 - loss), flow, 0}, by[UNKNOWNS];
    assert_true(shot_least_squares_workspace(ROWS, UNKNOWNS) <= sizeof work / sizeof *work);
    for (int turn = 0; turn < 30; turn++) {
        linearize(x, y, columns, left);
        assert_int_equal(
            shot_least_squares_fit(columns, left, ROWS, UNKNOWNS, work, by, NULL, NULL), SHOT_OK);
        for (int k = 0; k < UNKNOWNS; k++)
            x[k] += by[k] / 2;
    }
    return x[0];
}

/* The estimate of maximum likelihood reaches the bound where there are many samples (Kay 1993, sec.
 * 7.5); of 800 trials its SD is known to 2.5 %, and four times that is allowed.  What is known of
 * the length beforehand is little beside what these samples tell. */
static void the_likeliest_onset_reaches_the_bound(void **state) {
    enum { TRIALS = 800 };
    static double y[ROWS];
    const double noise = 0.02;
    const ideal_curves curves = curves_with(noise);
    shot_random random = shot_random_at(41, 0);
    double squares = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        for (int i = 0; i < ROWS; i++)
            y[i] = flow * (1 + loss / (1 - loss) * open_at(times[i], onset, seconds)) +
                   noise * shot_random_normal(&random);
        const double off = likeliest_onset(y) - onset;
        squares += off * off;
    }
    const double width = 2 * 1.959964 * sqrt(squares / TRIALS);
    assert_close(width_with(&curves), width, 0.1 * width);
}

/* With level, slope and size known, and samples dt apart, those of its length L, at u from 0 to 1
 * of it, change by a / L times 1 - u and u as its two corners move.  The sums of squares of these
 * are L / dt times 1/3, that of their product 1/6, so that (a / L)^2 (1/3 - (1/6)^2 / (1/3)) L / dt
 * = a^2 / (4 L dt) is known of the first corner when the second is not. */
static void one_who_knows_more_is_never_worse(void **state) {
    const double noise = 0.02, a = flow * loss / (1 - loss);
    const ideal_curves curves = curves_with(noise);
    const double information = a * a / seconds / spacing / 4 / (noise * noise);
    assert_true(width_with(&curves) > 2 * 1.959964 / sqrt(information));
}

/* Twice the noise, twice the width, as long as the samples tell the length. */
static void the_bound_scales_with_the_noise(void **state) {
    ideal_curves curves = curves_with(0.01);
    const double one = width_with(&curves);
    curves = curves_with(0.02);
    assert_close(width_with(&curves), 2 * one, 0.01 * one);
}

/* A scale beside the meter tells more, and with hopeless noise no more. */
static void a_second_channel_adds_what_it_tells(void **state) {
    ideal_curves curves = curves_with(0.02);
    const double alone = width_with(&curves);
    curves.channels = 2;
    curves.curve[1] = weight;
    curves.logged[1] = logged;
    curves.shows[1] = IDEAL_WEIGHT;
    curves.noise[1] = 0.01;
    assert_true(width_with(&curves) < 0.98 * alone);
    curves.noise[1] = 1e6;
    assert_close(width_with(&curves), alone, 1e-6 * alone);
}

/* Hardly any noise: the time between two samples is left.  Pressure alone shows nothing. */
static void sampling_and_channels_limit_it(void **state) {
    ideal_curves curves = curves_with(1e-9);
    assert_close(width_with(&curves), 0.95 * spacing, 1e-9);
    curves.shows[0] = IDEAL_PRESSURE;
    assert_true(isinf(width_with(&curves)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_likeliest_onset_reaches_the_bound),
        cmocka_unit_test(one_who_knows_more_is_never_worse),
        cmocka_unit_test(the_bound_scales_with_the_noise),
        cmocka_unit_test(a_second_channel_adds_what_it_tells),
        cmocka_unit_test(sampling_and_channels_limit_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
