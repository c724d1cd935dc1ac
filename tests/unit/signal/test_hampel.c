/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the Hampel identifier finds the spikes of the worked vector, spares steps and
 * flickering last digits, and works on uneven times with holes. */
#include <support/check.h>

#include <shottrace/signal/hampel.h>

enum { MOST = 64 };

static void judge(shot_hampel_rule rule, const double *t, const double *y, size_t n,
                  shot_hampel_at *out) {
    shot_hampel *hampel;
    size_t count = 0;
    assert_int_equal(shot_hampel_new(&rule, &hampel), SHOT_OK);
    for (size_t i = 0; i <= n; i++) {
        if (i < n)
            assert_int_equal(shot_hampel_push(hampel, t[i], y[i]), SHOT_OK);
        else
            shot_hampel_finish(hampel);
        for (bool ready = true; ready; count += ready)
            assert_int_equal(shot_hampel_next(hampel, out + count, &ready), SHOT_OK);
    }
    assert_int_equal(count, n);
    shot_hampel_free(hampel);
}

static void worked_vector(void **state) {
    const double y[] = {2.1, 2.3, 2.2, 9.7, 2.4, 2.6, 2.5, 2.5, -4, 2.7, 2.8, 3.1, 3, 3.2};
    const double replaced[2][2] = {{2.4, 2.5}, {2.4, 2.6}}; /* half-width 2 and 3 */
    double t[14];
    shot_hampel_at at[15];
    for (size_t i = 0; i < 14; i++)
        t[i] = 0.1 * (double)i;
    for (int half = 2; half <= 3; half++) {
        judge((shot_hampel_rule){{half, half, true}, 3, 0}, t, y, 14, at);
        for (size_t i = 0; i < 14; i++)
            assert_true(at[i].spike == (i == 3 || i == 8));
        assert_int_equal(at[0].n, half + 1);
        assert_int_equal(at[3].n, 2 * half + 1);
        assert_close(at[3].median, replaced[half - 2][0], 1e-12);
        assert_close(at[8].median, replaced[half - 2][1], 1e-12);
    }
}

/* A plateau read to 0.01: without a floor any flicker is a spike, with it none; a real spike is. */
static void floor_spares_the_last_digit(void **state) {
    double t[20], y[20];
    shot_hampel_at at[21];
    for (size_t i = 0; i < 20; i++) {
        t[i] = 0.1 * (double)i;
        y[i] = 9;
    }
    y[10] = 9.01;
    y[15] = 9.5;
    judge((shot_hampel_rule){{3, 3, true}, 3, 0}, t, y, 20, at);
    assert_true(at[10].spike && at[15].spike && !at[9].spike && at[9].scale == 0);
    judge((shot_hampel_rule){{3, 3, true}, 3, 0.005}, t, y, 20, at);
    assert_true(!at[10].spike && at[15].spike);
    assert_true(at[10].scale == 0.005);
}

/* A step is no spike; nor is a missing sample; holes and uneven times do not hide one. */
static void steps_and_holes(void **state) {
    const double t[] = {0, 0.11, 0.2, 0.33, 0.4, 0.52, 0.6, 0.7, 0.83, 0.9, 1.0};
    const double y[] = {1, 1.01, NAN, 1.02, 7, 1, NAN, 1.01, 0.99, 1.02, 1};
    shot_hampel_at at[12];
    judge((shot_hampel_rule){{0.35, 0.35, false}, 3, 0.01}, t, y, 11, at);
    for (size_t i = 0; i < 11; i++)
        assert_true(at[i].spike == (i == 4));
    double step[11];
    for (size_t i = 0; i < 11; i++)
        step[i] = i < 5 ? 1 : 9;
    judge((shot_hampel_rule){{0.35, 0.35, false}, 3, 0.01}, t, step, 11, at);
    for (size_t i = 0; i < 11; i++)
        assert_false(at[i].spike);
}

static void bad_rules_are_refused(void **state) {
    shot_hampel *hampel;
    const shot_hampel_rule bad[] = {{{1, 1, true}, -1, 0},
                                    {{1, 1, true}, 3, -1},
                                    {{-1, 1, true}, 3, 0},
                                    {{1, 1, true}, NAN, 0}};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(shot_hampel_new(&bad[i], &hampel), SHOT_ERR_RANGE);
        assert_null(hampel);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_vector),
        cmocka_unit_test(floor_spares_the_last_digit),
        cmocka_unit_test(steps_and_holes),
        cmocka_unit_test(bad_rules_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
