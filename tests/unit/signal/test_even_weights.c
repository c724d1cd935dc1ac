/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: weights that are kept are those of a fit to the places of the grid, for every shape and
 * whatever shapes were asked for before; a few hundred are kept, and only eight long ones. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>
#include <signal/even_weights.h>

enum { MOST = 80, LONG_ONES = 8 };

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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_are_those_of_the_grid),
        cmocka_unit_test(shapes_of_a_usual_window_stay),
        cmocka_unit_test(few_long_ones_are_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
