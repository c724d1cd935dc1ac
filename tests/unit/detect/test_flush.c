/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: water that ran before a shot and met no coffee is not the shot's, its interval says
 * that nobody proved it, and a pre-wetting that meets no pressure stays one. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* Water for 3 s from 1 s on, at so many ml/s and under so many bar; then, after a rest, the shot,
 * whose basket takes 5 ml/s for some seconds before the pressure comes up. */
typedef struct two_runs {
    double flow, pressure, rest, fills;
    bool meter;
    const char *mark;
} two_runs;

static const double first = 1, lasts = 3;

static double starts(const two_runs *runs) {
    return first + lasts + runs->rest;
}

static feed found(const two_runs *runs) {
    shot_random random = shot_random_at(15, 0);
    shot_text text = {0};
    const double on = starts(runs), full = on + runs->fills, off = full + 22;
    shot_text_add_format(&text, "%stime,pressure%s\n", runs->mark, runs->meter ? ",flow" : "");
    for (int i = 0; i <= 10 * (off + 3); i++) {
        const double t = 0.1 * i, up = t > full ? 9 * (1 - exp(-(t - full) / 0.8)) : 0;
        const bool before = t > first && t < first + lasts;
        const bool in = t > on && t < off;
        const double p = before   ? runs->pressure
                         : in     ? up
                         : t > on ? 9 * exp(-(t - off) / 0.15)
                                  : 0;
        const double q = before ? runs->flow : in ? (t < full ? 5 : 2) : 0;
        shot_text_add_format(&text, "%.1f,%.2f", t, p + 0.03 * shot_random_normal(&random));
        if (runs->meter)
            shot_text_add_format(&text, ",%.2f", q + 0.05 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return feed_log("segment | pulses", &text);
}

static void expect_water(const feed *got, double at, double low, double high) {
    const char *line = last_line(got->out.bytes, "preinfusion");
    assert_close(mark_number(line, "from"), at, 0.15);
    assert_true(mark_number(line, "from.low") <= low);
    assert_true(mark_number(line, "from.high") >= high);
}

static void a_flush_is_not_the_water_of_the_shot(void **state) {
    static const double pressures[] = {0, 1.2}; /* an open group, and one with a jet */
    for (size_t i = 0; i < sizeof pressures / sizeof *pressures; i++) {
        const two_runs runs = {6, pressures[i], 8, 5, true, ""};
        feed got = found(&runs);
        expect_water(&got, starts(&runs), first, starts(&runs));
        assert_int_equal(final_count(got.out.bytes, "soak"), 0);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 0);
        assert_non_null(strstr(got.out.bytes, "taken for a flush before the shot"));
        feed_free(&got);
    }
}

/* The second run has 5 ml to fill: the first stayed in the basket.  So it did where the rest is
 * short, or a person says so. */
static void a_pre_wetting_without_pressure_stays_one(void **state) {
    static const two_runs wettings[] = {
        {6, 0, 8, 1, true, ""},
        {6, 0, 3, 5, true, ""},
        {6, 0, 8, 5, true, "# mark: preinfusion id=h from=1 to=1\n"}};
    for (size_t i = 0; i < sizeof wettings / sizeof *wettings; i++) {
        feed got = found(&wettings[i]);
        const char *line = last_line(got.out.bytes, "preinfusion");
        assert_close(mark_number(line, "from"), first, 0.15);
        assert_null(strstr(got.out.bytes, "taken for a flush"));
        feed_free(&got);
    }
}

/* Pressure alone tells neither. */
static void without_a_meter_the_interval_holds_both(void **state) {
    const two_runs runs = {6, 1.2, 8, 5, false, ""};
    feed got = found(&runs);
    expect_water(&got, first, first, starts(&runs));
    assert_non_null(strstr(got.out.bytes, "if that was a flush"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_flush_is_not_the_water_of_the_shot),
        cmocka_unit_test(a_pre_wetting_without_pressure_stays_one),
        cmocka_unit_test(without_a_meter_the_interval_holds_both),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
