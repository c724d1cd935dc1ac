/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a program that eases the pressure off when a surge is told hears of most openings
 * within a second, of few that are none, of each event once, that what it obeyed is not lost at the
 * end, and that the whole log gives the same bytes as its rows one by one.
 * `eval_closed_loop 700 40` gives the rates on more shots. */
#include <support/check.h>
#include <support/closed_loop.h>

static const char *const filters = "segment | surges | pulses";
enum { SHOTS = 12 };

static loop_score brew_all(loop_habit habit) {
    loop_score score = {0};
    for (uint64_t i = 0; i < SHOTS; i++)
        closed_loop_run(filters, 1200, i, habit, &score);
    assert_int_equal(score.shots, SHOTS);
    return score;
}

/* What holds however the program behaves. */
static void assert_settled(loop_score *score) {
    assert_int_equal(score->unsettled, 0);
    assert_int_equal(score->differ, 0);
    assert_true(score->in_vain <= 1);
    assert_true(score->invented <= 1);
    numbers_free(&score->delay);
}

static void surges_are_told_in_time_to_ease_off(void **state) {
    (void)state;
    loop_score score = brew_all(LOOP_OBEYS);
    assert_true(score.openings >= 6);
    assert_true(10 * score.in_time >= 6 * score.openings);
    assert_true(2 * score.kept >= score.told);
    assert_true(score.held + 1 >= score.kept);
    assert_settled(&score);
}

static void easing_off_without_a_reason_makes_no_surge(void **state) {
    (void)state;
    loop_score score = brew_all(LOOP_RESTLESS);
    assert_int_equal(score.openings, 0);
    assert_settled(&score);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(surges_are_told_in_time_to_ease_off),
        cmocka_unit_test(easing_off_without_a_reason_makes_no_surge),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
