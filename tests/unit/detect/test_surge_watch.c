/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a surge is told while the shot runs, soon after it began, and refined at the end. */
#include <support/surge_told.h>

#include <support/mark_text.h>

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

/* At 18.6 s a program lowers the pressure by 4 bar, as it should at a surge that was told, while
 * the puck still opens, evenly over a second: the end of the loss lies where pressure and flow are
 * what the program made of them.  What was told stands, with what the rows until then tell, and
 * counts once; its interval holds what it takes in all as well. */
static void what_was_obeyed_stands(void **state) {
    for (uint64_t seed = 41; seed < 44; seed++) {
        feed got = surges(&(plan){.loss = 0.3,
                                  .takes = 1,
                                  .lowered = 4,
                                  .earlier = -0.6,
                                  .room = 0.8,
                                  .meter = true,
                                  .rate = 20,
                                  .noise = 0.05,
                                  .seed = seed},
                          "surges");
        const char *line = final_line(got.out.bytes, "surge", 0);
        assert_int_equal(final_count(got.out.bytes, "surge"), 1);
        assert_non_null(strstr(line, "refines=surge-1"));
        assert_non_null(strstr(line, "pressure was lowered while it opened"));
        assert_true(mark_number(line, "from.low") <= 18 && mark_number(line, "from.high") >= 18);
        const double to = mark_number(line, "to"), lost = 30 * (to - 18);
        assert_close(to, 18.6, 0.15);
        assert_true(mark_number(line, "value.low") <= lost &&
                    mark_number(line, "value.high") >= 30);
        assert_null(strstr(got.out.bytes, "withdrawn"));
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_running_shot_tells_within_a_second),
        cmocka_unit_test(so_it_does_where_gauge_and_meter_have_rows_of_their_own),
        cmocka_unit_test(a_scale_tells_while_the_shot_runs),
        cmocka_unit_test(what_was_obeyed_stands),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
