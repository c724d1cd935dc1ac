/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the envelope is the least of all costs at every value, in as few stretches as that
 * takes, and "exceeded" means above it everywhere. */
#include <support/check.h>

#include <shottrace/signal/random.h>

#include "signal/line_envelope.h"

enum { COSTS = 12, PLACES = 2000, TRIALS = 300 };

static const double low = -3, high = 5;

static double value_at(const line_cost *q, double v) {
    return q->a + v * (q->b + v * q->c);
}

/* Costs as a fit has them: a least value at some place, steep or flat, a few missing or straight.
 */
static void draw(shot_random *random, line_cost *cost) {
    for (size_t i = 0; i < COSTS; i++) {
        double c = i % 5 ? exp(shot_random_between(random, -4, 3)) : 0;
        double at = shot_random_between(random, -4, 6);
        cost[i] = (line_cost){shot_random_between(random, 0, 3) + c * at * at,
                              -2 * c * at + (i % 5 ? 0 : shot_random_normal(random)), c};
    }
    cost[COSTS / 2] = (line_cost){NAN, NAN, NAN};
}

static double least_at(const line_cost *cost, double v) {
    double least = INFINITY;
    for (size_t i = 0; i < COSTS; i++)
        least = fmin(least, value_at(&cost[i], v)); /* fmin passes over NaN */
    return least;
}

static const line_cost *best_at(const line_envelope *e, double v) {
    size_t k = 0;
    while (k + 1 < e->stretches && e->stretch[k + 1].from <= v)
        k++;
    return &e->cost[e->stretch[k].best];
}

/* 1e-9: where two costs cross, the one on the wrong side is off by the rounding of the place. */
static void the_envelope_is_the_least_of_all(void **state) {
    shot_random random = shot_random_at(93, 0);
    for (int trial = 0; trial < TRIALS; trial++) {
        line_cost cost[COSTS];
        line_stretch stretch[2 * COSTS];
        line_envelope e = {cost, COSTS, low, high, stretch, 0};
        draw(&random, cost);
        line_envelope_find(&e);
        assert_in_range(e.stretches, 1, 2 * COSTS - 1);
        assert_true(stretch[0].from == low);
        for (size_t k = 1; k < e.stretches; k++) {
            assert_true(stretch[k].from > stretch[k - 1].from && stretch[k].from < high);
            assert_true(stretch[k].best != stretch[k - 1].best);
        }
        for (int p = 0; p <= PLACES; p++) {
            double v = low + (high - low) * p / PLACES;
            assert_close(value_at(best_at(&e, v), v), least_at(cost, v), 1e-9);
        }
    }
}

/* The distance is raised to just above and just below the least one found by trying. */
static void exceeded_means_at_every_value(void **state) {
    shot_random random = shot_random_at(94, 0);
    for (int trial = 0; trial < TRIALS; trial++) {
        line_cost cost[COSTS], other[COSTS];
        line_stretch stretch[2 * COSTS];
        line_envelope e = {cost, COSTS, low, high, stretch, 0};
        draw(&random, cost);
        draw(&random, other);
        line_envelope_find(&e);
        for (size_t i = 0; i < COSTS / 2; i++) {
            double nearest = INFINITY;
            for (int p = 0; p <= PLACES; p++) {
                double v = low + (high - low) * p / PLACES;
                nearest = fmin(nearest, value_at(&other[i], v) - least_at(cost, v));
            }
            assert_false(line_envelope_exceeded(&e, &other[i], nearest + 1e-9)); /* rounding */
            /* between two places a curvature below 2 e^3 changes less than 2 e^3 (step / 2)^2,
             * where costs cross a slope below 2 e^3 * 10 less than that times half a step */
            assert_true(line_envelope_exceeded(&e, &other[i], nearest - 2 * exp(3) * 10 * 0.002));
        }
    }
}

static void no_cost_has_no_envelope(void **state) {
    line_cost cost[2] = {{NAN, NAN, NAN}, {NAN, NAN, NAN}};
    line_stretch stretch[4];
    line_envelope e = {cost, 2, low, high, stretch, 7};
    line_envelope_find(&e);
    assert_int_equal(e.stretches, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_envelope_is_the_least_of_all),
        cmocka_unit_test(exceeded_means_at_every_value),
        cmocka_unit_test(no_cost_has_no_envelope),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
