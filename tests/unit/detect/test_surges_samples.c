/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the last samples of a log pass for no surge, nor is what a clock leaps over
 * searched for one. */
#include <support/surge_shot.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>
#include <support/turns.h>

/* A log of a row a second that ends within a second of the stop: the last rows have more
 * neighbours before them than behind, so that their median is none of them. */
static void the_last_rows_of_a_log_count(void **state) {
    for (uint64_t seed = 1; seed <= 10; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\n# scale.lag: 0 s\ntime,pressure,weight\n");
        for (int t = 0; t <= 37; t++) {
            const double held = t == 37 ? 1.7 : fmax(0, fmin(8.8, 2.5 * (t - 2)));
            shot_text_add_format(&text, "%d,%.2f,%.1f\n", t,
                                 held + 0.02 * shot_random_normal(&random),
                                 2.15 * fmax(0, t - 12) + 0.03 * shot_random_normal(&random));
        }
        assert_int_equal(final_count_of("surges", &text, "surge"), 0);
    }
}

/* A shot whose bed opens by 0.4 at 14 s, on a clock that begins at `begins`, and leaps at 24 s. */
static feed opens_by(double begins, double leap) {
    shot_random random = shot_random_at(3, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 340; i++) {
        const double t = i / 10.0, open = 1 + 0.4 * ramp(t, 14, 0.6);
        const double held = 9 * (ramp(t, 1, 2) - ramp(t, 31, 0.3));
        shot_text_add_format(&text, "%.17g,%.2f,%.2f\n", begins + t + (t > 24 ? leap : 0), held,
                             held / 4 * open + 0.03 * shot_random_normal(&random));
    }
    feed got = feed_log("surges", &text);
    assert_int_equal(got.status, SHOT_OK);
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    return got;
}

/* A clock that is set while the puck has long opened, or counts in other units than it says: the
 * search goes by the rows that there are, not by the seconds. */
static void a_clock_may_jump(void **state) {
    const double jumps[] = {3600, 1.7e9, 1e12};
    for (unsigned k = 0; k < turns(sizeof jumps / sizeof *jumps); k++) {
        feed got = opens_by(0, jumps[k]);
        assert_close(mark_number(final_line(got.out.bytes, "surge", 0), "from"), 14, 0.3);
        feed_free(&got);
    }
}

/* A clock of the day: what is found does not go by when a log begins.  The grid of onsets is as
 * fine as 0.01 s; the rest is what the last digits of the clock decide among equals. */
static void a_clock_may_begin_at_any_time(void **state) {
    static const char *const columns[] = {"from", "from.low", "from.high", "to"};
    const double begins[] = {3600, 36000, 999000};
    feed plain = opens_by(0, 0);
    const char *const expected = final_line(plain.out.bytes, "surge", 0);
    for (unsigned k = 0; k < turns(sizeof begins / sizeof *begins); k++) {
        feed got = opens_by(begins[k], 0);
        const char *const line = final_line(got.out.bytes, "surge", 0);
        for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
            assert_close(mark_number(line, columns[c]) - begins[k],
                         mark_number(expected, columns[c]), 0.03);
        assert_close(mark_number(line, "value"), mark_number(expected, "value"), 1);
        feed_free(&got);
    }
    feed_free(&plain);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_last_rows_of_a_log_count),
        cmocka_unit_test(a_clock_may_jump),
        cmocka_unit_test(a_clock_may_begin_at_any_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
