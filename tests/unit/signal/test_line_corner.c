/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a break that is moved alone goes to the least cost between the samples around it, as
 * trying many places with the whole line finds it, and stays where it is held. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/random.h>

#include "signal/line_corner.h"

enum { SAMPLES = 60, BREAKS = 5, TRIALS = 200 };

/* Uneven times, some of them shared by two samples, and a line with a bend in each quarter. */
static line_sums *series(shot_random *random) {
    double t[SAMPLES], y[SAMPLES];
    line_sums *sums;
    for (size_t i = 0; i < SAMPLES; i++) {
        double step = shot_random_between(random, 0.02, 0.2);
        t[i] = i ? t[i - 1] + (i % 9 == 4 ? 0 : step) : 0;
        y[i] = fabs(fmod((double)i, 30) - 15) + shot_random_normal(random);
    }
    assert_int_equal(line_sums_new(t, y, NULL, SAMPLES, &sums), SHOT_OK);
    return sums;
}

static line_search *search_with(const line_sums *sums, shot_random *random, double *place) {
    line_search *search;
    assert_int_equal(line_search_new(sums, BREAKS, 2, &search), SHOT_OK);
    search->count = BREAKS;
    do
        for (size_t j = 0; j < BREAKS; j++) {
            size_t i = 10 * (j + 1) - 3 + (size_t)shot_random_between(random, 0, 6);
            double between = shot_random_between(random, 0, 1);
            place[j] = sums->x[i] + (j % 2 ? between * (sums->x[i + 1] - sums->x[i]) : 0);
        }
    while (!isfinite(line_search_cost(search, place)));
    return search;
}

/* The time of the nearest sample left or right of x. */
static double next_to(const line_sums *sums, double x, bool right) {
    double nearest = x;
    for (size_t i = 0; i < sums->n; i++)
        if (right ? sums->x[i] > x && (nearest == x || sums->x[i] < nearest)
                  : sums->x[i] < x && (nearest == x || sums->x[i] > nearest))
            nearest = sums->x[i];
    return nearest;
}

/* The least cost with break j anywhere between the second sample on its left and on its right. */
static double least_by_trial(line_search *search, const double *place, size_t j) {
    const line_sums *sums = search->sums;
    double trial[BREAKS], least = INFINITY;
    memcpy(trial, place, sizeof trial);
    double low = next_to(sums, next_to(sums, place[j], false), false);
    double high = next_to(sums, next_to(sums, place[j], true), true);
    for (int k = 0; k <= 400; k++) {
        trial[j] = low + (high - low) * k / 400;
        least = fmin(least, line_search_cost(search, trial));
    }
    return least;
}

/* The sums keep about 1e-12 of the sum of squares; what a trial of 400 places finds can only be
 * above the exact minimum of the same cells. */
static void no_place_around_a_break_is_better(void **state) {
    shot_random random = shot_random_at(91, 0);
    for (int trial = 0; trial < TRIALS; trial++) {
        line_sums *sums = series(&random);
        double place[BREAKS];
        line_search *search = search_with(sums, &random, place);
        double cost = line_search_cost(search, place), before;
        int rounds = 0;
        do {
            before = cost;
            assert_in_range(rounds++, 0, 500);
        } while (line_corner_descend(search, place, &cost, LINE_SEARCH_NONE) && cost < before);
        assert_close(line_search_cost(search, place), cost, 0);
        for (size_t j = 0; j < BREAKS; j++)
            assert_true(least_by_trial(search, place, j) >= cost * (1 - 1e-9));
        line_search_free(search);
        line_sums_free(sums);
    }
}

static void only_the_neighbours_of_a_held_break_move(void **state) {
    shot_random random = shot_random_at(92, 0);
    int moved = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        line_sums *sums = series(&random);
        double place[BREAKS], before[BREAKS];
        line_search *search = search_with(sums, &random, place);
        double cost = line_search_cost(search, place);
        size_t held = (size_t)trial % BREAKS;
        memcpy(before, place, sizeof before);
        moved += line_corner_descend(search, place, &cost, held);
        for (size_t j = 0; j < BREAKS; j++)
            if (j + 1 != held && j != held + 1)
                assert_true(place[j] == before[j]);
        line_search_free(search);
        line_sums_free(sums);
    }
    assert_true(moved > TRIALS / 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_place_around_a_break_is_better),
        cmocka_unit_test(only_the_neighbours_of_a_held_break_move),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
