/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a log whose only meter is a running count of the water gets its phases and surges by
 * it, with intervals that hold the truth, whatever the counter starts at, and none where a filter
 * has smoothed it. */
#include <support/surge_shot.h>

#include <support/mark_text.h>

static const double enters = 2.34, opens = 22, stops = 40;

/* Through a pump that takes 0.3 s to run, into a basket until 5 s, through the puck, which loses 60
 * % of its resistance within 1.5 s. */
static double runs_at(double t) {
    const double through = t < opens ? 2 : fmin(5, 2 + 2 * (t - opens));
    return t < enters || t > stops ? 0 : t < 5 ? 8 * fmin(1, (t - enters) / 0.3) : through;
}

static feed counted(const char *chain, double count, double shown_first) {
    shot_random random = shot_random_at(21, 0);
    shot_text text = {0};
    double volume = 0;
    shot_text_add(&text, "# gauge: puck\ntime,pressure,water [ml]\n");
    for (int i = 0; i < 4500; i++) {
        const double t = 0.01 * i;
        volume += 0.01 * runs_at(t);
        const double p = t < 4.5 || t > stops + 0.5 ? 0 : fmin(9, 9 * (t - 4.5));
        if (i % 10 == 0)
            shot_text_add_format(&text, "%.2f,%.2f,%.1f\n", t,
                                 p + 0.03 * shot_random_normal(&random),
                                 count * floor(volume / count) + shown_first);
    }
    return feed_log(chain, &text);
}

static bool holds(const char *line, const char *low, const char *high, double truth) {
    return mark_number(line, low) <= truth && mark_number(line, high) >= truth;
}

/* The first count dates the water; without it the pressure is seen 2 s late. */
static void the_first_count_dates_the_water(void **state) {
    static const double counts[] = {1, 0.1};
    for (size_t i = 0; i < 2; i++) {
        feed got = counted("segment", counts[i], 57 * (double)i);
        const char *line = final_line(got.out.bytes, "preinfusion", 0);
        assert_true(holds(line, "from.low", "from.high", enters));
        assert_true(mark_number(line, "from.high") - mark_number(line, "from.low") < 0.7);
        assert_null(strstr(line, "no flow to tell"));
        line = final_line(got.out.bytes, "brew", 0);
        assert_true(holds(line, "to.low", "to.high", stops));
        assert_non_null(strstr(got.out.bytes, "shot-segment: no flow: the running count"));
        feed_free(&got);
    }
}

static void the_slope_of_the_counter_shows_a_surge(void **state) {
    static const double counts[] = {1, 0.1};
    for (size_t i = 0; i < 2; i++) {
        feed got = counted("segment | surges", counts[i], 0);
        assert_int_equal(final_count(got.out.bytes, "surge"), 1);
        const char *line = final_line(got.out.bytes, "surge", 0);
        assert_non_null(strstr(line, "channel=water"));
        assert_non_null(strstr(line, "ml/s"));
        assert_true(holds(line, "from.low", "from.high", opens));
        assert_true(holds(line, "value.low", "value.high", 60));
        feed_free(&got);
    }
}

/* Also while the shot runs; the final mark refines that one. */
static void a_surge_is_told_while_the_counter_runs(void **state) {
    feed got = counted("segment | surges", 1, 0);
    const char *line = strstr(got.out.bytes, "id=surge-1 ");
    assert_non_null(line);
    assert_true(fabs(mark_number(line, "from") - opens) < 1);
    assert_non_null(strstr(final_line(got.out.bytes, "surge", 0), "refines=surge-1"));
    feed_free(&got);
}

static void a_smoothed_count_gets_no_interval(void **state) {
    feed got = counted("smooth --channel water --window 0.6s | segment | surges", 0.1, 0);
    assert_null(strstr(final_line(got.out.bytes, "preinfusion", 0), "from.low="));
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    assert_null(strstr(final_line(got.out.bytes, "surge", 0), "from.low="));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_first_count_dates_the_water),
        cmocka_unit_test(the_slope_of_the_counter_shows_a_surge),
        cmocka_unit_test(a_surge_is_told_while_the_counter_runs),
        cmocka_unit_test(a_smoothed_count_gets_no_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
