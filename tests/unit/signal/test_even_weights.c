/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: weights that are kept are those of a fit to the places of the grid, for every shape and
 * whatever shapes were asked for before; a few hundred are kept, and only eight long ones; fits
 * that share them find what they would find alone. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>
#include <signal/even_weights.h>
#include <signal/running_fit_parts.h>

enum { MOST = 80, LONG_ONES = 8, ROWS = 100 };

static even_shape any_shape(shot_random *random, size_t least, size_t most) {
    even_shape shape = {.n = least + (size_t)shot_random_below(random, most - least + 1)};
    shape.own = (size_t)shot_random_below(random, shape.n);
    if (shot_random_chance(random, 0.5)) {
        shape.behind = 1 + (size_t)shot_random_below(random, shape.n - 1);
        shape.missing = 1 + (size_t)shot_random_below(random, 2);
    }
    if (shot_random_chance(random, 0.3))
        shape.taper = 2 * (double)shape.n; /* none is left out */
    return shape;
}

static const even_weights *weights_of(even_shapes *shapes, const even_shape *shape,
                                      shot_local_fit *fit, size_t *made) {
    const even_weights *even = even_weights_find(shapes, shape);
    if (even == NULL) {
        assert_int_equal(even_weights_make(shapes, shape, 1, fit, &even), SHOT_OK);
        ++*made;
    }
    return even;
}

/* By a fit to true times with steps of 0.1 s. */
static void check_weights(const even_shape *shape, const even_weights *even, shot_local_fit *fit) {
    double t[MOST], y[MOST], want[MOST];
    for (size_t i = 0; i < shape->n; i++) {
        const size_t hole = shape->behind > 0 && i >= shape->behind ? shape->missing : 0;
        t[i] = (double)(i + hole) / 10;
        y[i] = 0;
    }
    const double at = t[shape->own];
    assert_int_equal(shot_local_fit_set(fit, t, y, shape->n, at, shape->taper / 10), SHOT_OK);
    shot_local_fit_weights(fit, at, 1, want);
    for (size_t i = 0; i < shape->n; i++)
        assert_close(even->weight[i], want[i] / 10, 1e-12);
    assert_rel(even->gain, shot_local_fit_at(fit, at, 1).gain / 100, 1e-10);
}

static void weights_are_those_of_the_grid(void **state) {
    shot_random random = shot_random_at(1901, 3);
    even_shapes shapes = {0};
    shot_local_fit *fit;
    size_t made = 0, asked = 0;
    assert_int_equal(shot_local_fit_new(2, &fit), SHOT_OK);
    for (; asked < 5000; asked++) {
        const size_t most = asked % 3 == 0 ? MOST : asked % 3 == 1 ? 12 : 5;
        const even_shape shape = any_shape(&random, 4, most);
        check_weights(&shape, weights_of(&shapes, &shape, fit, &made), fit);
    }
    assert_true(made < asked * 3 / 4); /* many come again */
    even_weights_free(&shapes);
    shot_local_fit_free(fit);
}

/* Those of a window of eleven beside a hole of one or two, in the middle and at either end: once
 * made, none is made again. */
static void shapes_of_a_usual_window_stay(void **state) {
    even_shapes shapes = {0};
    shot_local_fit *fit;
    size_t made = 0;
    assert_int_equal(shot_local_fit_new(3, &fit), SHOT_OK);
    for (int round = 0; round < 3; round++) {
        for (size_t own = 0; own < 11; own++)
            weights_of(&shapes, &(even_shape){.n = 11, .own = own}, fit, &made);
        for (size_t behind = 1; behind < 11; behind++)
            for (size_t missing = 1; missing <= 2; missing++)
                weights_of(&shapes, &(even_shape){11, 5, behind, missing, 0}, fit, &made);
    }
    assert_int_equal(made, 31);
    even_weights_free(&shapes);
    shot_local_fit_free(fit);
}

/* Else a window in time on a clock that wanders would fill the memory. */
static void few_long_ones_are_kept(void **state) {
    even_shapes shapes = {0};
    shot_local_fit *fit;
    size_t kept = 0, made = 0;
    assert_int_equal(shot_local_fit_new(2, &fit), SHOT_OK);
    for (size_t n = 1000; n < 1100; n++)
        weights_of(&shapes, &(even_shape){.n = n, .own = n / 2}, fit, &made);
    for (size_t n = 1000; n < 1100; n++)
        kept += even_weights_find(&shapes, &(even_shape){.n = n, .own = n / 2}) != NULL;
    assert_true(kept >= 4 && kept <= LONG_ONES);
    even_weights_free(&shapes);
    shot_local_fit_free(fit);
}

/* Figures on a grid of which every ninth is missing. */
static void take_all(shot_running_fit *fit, uint64_t seed, double *fitted) {
    shot_random random = shot_random_at(31, seed);
    size_t count, all = 0;
    for (size_t i = 0; i < ROWS; i++) {
        const double y = i % 9 == seed % 9 ? NAN : shot_random_normal(&random);
        assert_int_equal(shot_running_fit_push(fit, 0.125 * (double)i, y), SHOT_OK);
    }
    shot_running_fit_finish(fit);
    do {
        assert_int_equal(shot_running_fit_take(fit, ROWS - all, fitted + all, NULL, &count),
                         SHOT_OK);
        all += count;
    } while (count > 0 && all < ROWS);
    assert_int_equal(all, ROWS);
    shot_running_fit_reset(fit);
}

/* Fits that share them keep none of their own, and give the same. */
static void are_shared(void **state) {
    const shot_running_fit_rule rule = {.reach = {5, 5, true}, .order = 3};
    shot_running_fit *first, *second, *alone;
    double fitted[ROWS], expected[ROWS];
    assert_int_equal(shot_running_fit_new(&rule, &first), SHOT_OK);
    assert_int_equal(shot_running_fit_new(&rule, &second), SHOT_OK);
    assert_int_equal(shot_running_fit_new(&rule, &alone), SHOT_OK);
    running_fit_share(second, first);
    for (uint64_t seed = 0; seed < 20; seed++) {
        take_all(first, 100 + seed, fitted);
        take_all(second, seed, fitted);
        take_all(alone, seed, expected);
        assert_memory_equal(fitted, expected, sizeof fitted);
    }
    assert_true(first->own.kept != NULL && second->own.kept == NULL);
    shot_running_fit_free(second);
    shot_running_fit_free(first);
    shot_running_fit_free(alone);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_are_those_of_the_grid),
        cmocka_unit_test(shapes_of_a_usual_window_stay),
        cmocka_unit_test(few_long_ones_are_kept),
        cmocka_unit_test(are_shared),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
