/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: where neither a water meter nor a scale is logged, the stream into the cup shows a
 * surge, with an interval only while no filter has smoothed it. */
#include <support/surge_shot.h>

#include <support/mark_text.h>

/* A machine that works its flow out from the scale shows an opening of a third at 25 s by a lag of
 * 1 s late; water ran from 2 s on, drops fall from 10 s on. */
static feed by_the_stream_alone(const char *chain) {
    shot_random random = shot_random_at(21, 0);
    shot_text text = {0};
    double stream = 0;
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (double t = 0; t < 45; t += 0.1) {
        const double p = t < 3 || t > 40 ? 0 : fmin(9, 4.5 * (t - 3));
        const double through = t < 10 || t > 40 ? 0 : t < 25 ? 2 : fmin(3, 2 + 2 * (t - 25));
        stream += (through - stream) * (1 - exp(-0.1));
        const double shown = fmax(0, stream + 0.04 * shot_random_normal(&random) * (stream > 0.05));
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, p + 0.03 * shot_random_normal(&random),
                             shown);
    }
    return feed_log(chain, &text);
}

/* The interval of the onset reaches back to when the puck opened. */
static void found_by_the_stream_alone(void **state) {
    feed got = by_the_stream_alone("surges");
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    const char *line = final_line(got.out.bytes, "surge", 0);
    assert_non_null(strstr(line, "channel=flow"));
    assert_true(mark_number(line, "from.low") <= 25 && mark_number(line, "from.high") >= 25);
    assert_true(mark_number(line, "value.low") <= 100.0 / 3);
    assert_true(mark_number(line, "value.high") >= 100.0 / 3);
    feed_free(&got);
}

/* Smoothing spreads the onset over its window, and what it left of the noise is correlated: no
 * interval can be told, also where the flow that was smoothed is the beverage's. */
static void a_smoothed_stream_gets_no_interval(void **state) {
    feed got = by_the_stream_alone("smooth --channel flow | surges");
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    const char *line = final_line(got.out.bytes, "surge", 0);
    assert_non_null(strstr(line, "channel=flow"));
    assert_null(strstr(line, "from.low="));
    assert_null(strstr(line, "value.low="));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(found_by_the_stream_alone),
        cmocka_unit_test(a_smoothed_stream_gets_no_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
