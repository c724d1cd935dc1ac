/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: single figures of a flow meter neither make nor move a pulse where the flow alone
 * tells. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <shottrace/signal/random.h>

/* Two pulses of 1 s and the main run by flow alone at 8 Hz, as strays change some rows. */
static size_t pulses_by_flow_with(int row, int count, double shown) {
    shot_text text = {0};
    shot_text_add(&text, "time,flow\n");
    for (int i = 0; i < 240; i++) {
        const double t = i / 8.0;
        const bool on = (t >= 2 && t < 3) || (t >= 6 && t < 7) || (t >= 10 && t < 26);
        const double flow = on ? (t < 10 ? 6 : 2) : 0;
        shot_text_add_format(&text, "%.3f,%.2f\n", t, i >= row && i < row + count ? shown : flow);
    }
    feed got = feed_log("pulses", &text);
    const size_t found = mark_count(got.out.bytes, "pulse");
    feed_free(&got);
    return found;
}

/* A row or two without flow while the pump runs, one with a little while it stands, and one far
 * below nothing where it stops. */
static void stray_figures_of_the_flow_are_no_pulses(void **state) {
    assert_int_equal(pulses_by_flow_with(0, 0, 0), 2);
    assert_int_equal(pulses_by_flow_with(19, 1, 0), 2);
    assert_int_equal(pulses_by_flow_with(120, 2, 0), 2);
    assert_int_equal(pulses_by_flow_with(64, 1, 1.5), 2);
    assert_int_equal(pulses_by_flow_with(56, 1, -3), 2);
}

/* Of many figures of a meter at rest a few lie far apart by noise alone: they end no gap. */
static void a_fast_meter_with_noise_starts_no_pulse_early(void **state) {
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text text = {0};
        shot_text_add(&text, "time,flow\n");
        for (int i = 0; i < 50 * 40; i++) {
            const double t = i / 50.0 + 0.01;
            const bool on = t > 3 && (t > 23 || fmod(t - 3, 5) < 1.5);
            shot_text_add_format(&text, "%.2f,%.2f\n", t,
                                 (on && t < 38 ? 3 : 0) + 0.1 * shot_random_normal(&random));
        }
        feed got = feed_log("pulses", &text);
        assert_int_equal(mark_count(got.out.bytes, "pulse"), 4);
        for (int i = 0; i < 4; i++) {
            const char *line = mark_line(got.out.bytes, "pulse", i);
            /* between the rows on either side */
            assert_close(mark_number(line, "from"), 3 + 5 * i, 0.021);
            assert_close(mark_number(line, "to"), 4.5 + 5 * i, 0.021);
        }
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stray_figures_of_the_flow_are_no_pulses),
        cmocka_unit_test(a_fast_meter_with_noise_starts_no_pulse_early),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
