/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a surge is told while the shot runs, soon after it began, and refined at the end. */
#include <support/surge_told.h>

/* Within a second of the onset from a flow meter; a scale that the basket drains onto at once needs
 * half a second more for its slope. */
static void expect_told(const plan *p, double within) {
    bool refined;
    assert_close(told_at(p, &refined), 18 + within / 2, within / 2);
    assert_true(refined);
}

static void a_running_shot_tells_within_a_second(void **state) {
    expect_told(&(plan){.loss = 0.2, .meter = true, .rate = 10, .noise = 0.06, .seed = 21}, 1);
}

/* Two logs that were joined: no row has both pressure and flow. */
static void so_it_does_where_gauge_and_meter_have_rows_of_their_own(void **state) {
    expect_told(
        &(plan){.loss = 0.2, .meter = true, .in_turn = true, .rate = 20, .noise = 0.06, .seed = 21},
        1);
}

static void a_scale_tells_while_the_shot_runs(void **state) {
    expect_told(&(plan){.loss = 0.3, .scale = true, .rate = 10, .seed = 23}, 1.5);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_running_shot_tells_within_a_second),
        cmocka_unit_test(so_it_does_where_gauge_and_meter_have_rows_of_their_own),
        cmocka_unit_test(a_scale_tells_while_the_shot_runs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
