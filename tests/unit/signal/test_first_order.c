/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the first-order low-pass follows its differential equation whatever the times. */
#include <support/check.h>

#include <shottrace/signal/first_order.h>
#include <shottrace/signal/random.h>

/* A step at 0 seen at uneven times: 1 - exp(-t / tau), by calculus.  1e-13: a few roundings of
 * numbers near 1; the figures are printed to 12 digits. */
static void a_step_rises_exponentially(void **state) {
    static const double t[] = {0, 0.1, 0.3, 0.35, 1};
    static const double known[] = {0, 0.181269246922, 0.451188363906, 0.503414696209,
                                   0.864664716763};
    double shown = 0;
    for (size_t i = 1; i < sizeof t / sizeof *t; i++) {
        shown = shot_first_order(shown, 1, t[i] - t[i - 1], 0.5);
        assert_close(shown, 1 - exp(-t[i] / 0.5), 1e-13);
        assert_close(shown, known[i], 5e-13);
    }
}

/* More samples of a value that holds change nothing: 1000 roundings of numbers near 1. */
static void how_often_a_held_value_is_seen_does_not_matter(void **state) {
    shot_random random = shot_random_at(34, 1);
    double often = 3, last = 0;
    for (int i = 0; i < 1000; i++) {
        const double now = last + 0.01 * shot_random_uniform(&random);
        often = shot_first_order(often, -2, now - last, 0.7);
        last = now;
    }
    assert_close(often, shot_first_order(3, -2, last, 0.7), 1e-12);
}

/* Beyond exp's range the output is the input; no time, no change. */
static void ends_are_exact(void **state) {
    assert_true(shot_first_order(3, 7, 1e6, 0.1) == 7);
    assert_true(shot_first_order(3, 7, 0, 0.1) == 3);
    assert_true(isnan(shot_first_order(3, NAN, 1, 1)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_step_rises_exponentially),
        cmocka_unit_test(how_often_a_held_value_is_seen_does_not_matter),
        cmocka_unit_test(ends_are_exact),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
