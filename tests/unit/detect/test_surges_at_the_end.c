/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: where the pump stops, pressure and flow fall by shares of their own, and that is no
 * surge. */
#include <support/surge_shot.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>

static int count_in(shot_text *log) {
    return final_count_of("surges", log, "surge");
}

/* The brew ends at 34.6 s.  A clock of whole seconds gives the readings of a second one time; their
 * mean over the second of the stop shows some of the pressure and another share of the flow, and
 * lies no second before the end that it tells. */
static void the_second_of_the_end_is_none(void **state) {
    for (uint64_t seed = 1; seed <= 20; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
        for (int t = 0; t < 45; t++) {
            const double on = t < 2 || t > 34 ? 0 : t == 34 ? 0.6 : 1;
            const double held = on * fmin(9, 2.5 * (t - 2)), slow = 1.5 + 0.01 * t;
            shot_text_add_format(
                &text, "%d,%.3f,%.3f\n", t, held + 0.01 * shot_random_normal(&random),
                on > 0 ? slow * (on < 1 ? 0.68 : 1) + 0.03 * shot_random_normal(&random) : 0);
        }
        assert_int_equal(count_in(&text), 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_second_of_the_end_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
