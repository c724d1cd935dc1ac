/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: water that ran before a shot and met no coffee is not the shot's, its interval says
 * that nobody proved it, and a pre-wetting that meets no pressure stays one. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* Water for 3 s from 1 s on, at 6 ml/s and under so many bar, and for some more seconds in
 * which the pressure comes up; then, after a rest, the shot, whose basket takes 5 ml/s for some
 * seconds before the pressure comes up.  The flow then falls to 2 ml/s at once, or within some
 * seconds. */
typedef struct two_runs {
    double pressure, comes_up, rest, fills, eases;
    bool no_meter;
    const char *mark;
} two_runs;

static const double first = 1, lasts = 3;

static double starts(const two_runs *runs) {
    return first + lasts + runs->comes_up + runs->rest;
}

static double first_pressure(const two_runs *runs, double t) {
    return runs->pressure + 3 * fmax(0, t - first - lasts);
}

static double flow_of_shot(const two_runs *runs, double since_full) {
    return since_full < 0 ? 5 : 2 + 3 * fmax(0, 1 - since_full / fmax(0.01, runs->eases));
}

static feed found(const two_runs *runs) {
    shot_random random = shot_random_at(15, 0);
    shot_text text = {0};
    const double on = starts(runs), full = on + runs->fills, off = full + 22;
    shot_text_add_format(&text, "%stime,pressure%s\n", runs->mark, runs->no_meter ? "" : ",flow");
    for (int i = 0; i <= 10 * (off + 3); i++) {
        const double t = 0.1 * i, up = t > full ? 9 * (1 - exp(-(t - full) / 0.8)) : 0;
        const bool before = t > first && t < first + lasts + runs->comes_up;
        const bool in = t > on && t < off;
        const double p = before   ? first_pressure(runs, t)
                         : in     ? up
                         : t > on ? 9 * exp(-(t - off) / 0.15)
                                  : 0;
        const double q = before ? 6 : in ? flow_of_shot(runs, t - full) : 0;
        shot_text_add_format(&text, "%.1f,%.2f", t, p + 0.03 * shot_random_normal(&random));
        if (!runs->no_meter)
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
        const two_runs runs = {.pressure = pressures[i], .rest = 8, .fills = 5, .mark = ""};
        feed got = found(&runs);
        expect_water(&got, starts(&runs), first, starts(&runs));
        assert_int_equal(final_count(got.out.bytes, "soak"), 0);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 0);
        assert_non_null(strstr(got.out.bytes, "taken for a flush before the shot"));
        feed_free(&got);
    }
}

/* The second run has 5 ml to fill: the first stayed in the basket.  So it did where the rest is
 * short, a person says so, or the pressure came up at the flow under which there was none before:
 * in the first run, or in the second, whose flow is slow to show it. */
static void a_pre_wetting_without_pressure_stays_one(void **state) {
    static const two_runs wettings[] = {
        {.rest = 8, .fills = 1, .mark = ""},
        {.rest = 3, .fills = 5, .mark = ""},
        {.rest = 8, .fills = 5, .mark = "# mark: preinfusion id=h from=1 to=1\n"},
        {.rest = 8, .fills = 5, .mark = "", .comes_up = 1.8},
        {.rest = 8, .fills = 1.7, .mark = "", .eases = 6}};
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
    const two_runs runs = {.pressure = 1.2, .rest = 8, .fills = 5, .mark = "", .no_meter = true};
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
