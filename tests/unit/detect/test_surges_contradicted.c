/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: where meter and scale contradict each other, no surge is told that one of them rules
 * out, and the interval of one that both show holds what each says. */
#include <support/surge_shot.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>
#include <support/turns.h>

/* A gasket gives way: the meter shows half as much again, the cup gets what it got. */
static void what_misses_the_cup_is_none(void **state) {
    for (uint64_t seed = 61; seed < 61 + turns(3); seed++) {
        feed got = surges(&(plan){.leaks = 1.1,
                                  .meter = true,
                                  .scale = true,
                                  .rate = 10,
                                  .noise = 0.05,
                                  .seed = seed},
                          "surges");
        assert_int_equal(final_count(got.out.bytes, "surge"), 0);
        feed_free(&got);
    }
}

/* What hangs in a basket drains in proportion to how much hangs there, in 1 s; for the search a
 * scale is late only.  So meter and scale disagree by some standard errors, and what one shows
 * besides is no second surge. */
static void a_basket_that_drains_slowly_makes_no_second(void **state) {
    for (uint64_t seed = 61; seed < 61 + turns(3); seed++) {
        feed got = surges(&(plan){.loss = 0.4,
                                  .takes = 0.3,
                                  .drains = 1,
                                  .meter = true,
                                  .scale = true,
                                  .rate = 20,
                                  .noise = 0.05,
                                  .seed = seed},
                          "surges");
        const char *line = final_line(got.out.bytes, "surge", 0);
        assert_int_equal(final_count(got.out.bytes, "surge"), 1);
        assert_true(mark_number(line, "value.low") <= 40 && mark_number(line, "value.high") >= 40);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_misses_the_cup_is_none),
        cmocka_unit_test(a_basket_that_drains_slowly_makes_no_second),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
