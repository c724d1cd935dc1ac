/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a pulse is told while the shot runs, soon after the pump has stopped, by the flow and
 * by the pressure alone; the main run and a puck that is held are none; the end of the fill comes
 * with the first. */
#include <support/feed.h>
#include <support/mark_text.h>

#include <shottrace/signal/random.h>

/* Three pulses, then the brew; at 10 Hz, in a typical logger's noise (docs/model.md). */
static const double on[] = {2, 6, 9, 12}, off[] = {4, 7, 10, 30};
enum { RUNS = 4 };

static double drained(double peak, double t) {
    return peak * exp(-t / 0.5);
}

/* Each pulse comes to more than the one before. */
static double pressure_at(double t) {
    double p = 0;
    for (int i = 0; i < RUNS; i++) {
        const double top = i == RUNS - 1 ? 9 : 2 + i, ran = off[i] - on[i];
        if (t > on[i])
            p = t < off[i] ? top * (1 - exp(-(t - on[i]) / 0.4))
                           : drained(top * (1 - exp(-ran / 0.4)), t - off[i]);
    }
    return p;
}

static double flow_at(double t) {
    for (int i = 0; i < RUNS; i++)
        if (t > on[i] && t < off[i])
            return i == RUNS - 1 ? 2 : 6;
    return 0;
}

/* `from` drops what came before: a direct shot is one that begins at 11 s. */
static feed found_in(const char *chain, double from, bool flow) {
    shot_text text = {0};
    shot_random random = shot_random_at(7, 0);
    shot_text_add_format(&text, "# gauge: puck\ntime,pressure%s\n", flow ? ",flow" : "");
    for (int i = 0; i <= 340; i++) {
        const double t = 0.1 * i, p = pressure_at(t) + 0.04 * shot_random_normal(&random);
        const double q = flow_at(t) + 0.07 * shot_random_normal(&random);
        if (t < from)
            continue;
        shot_text_add_format(&text, "%.1f,%.2f", t, p);
        if (flow)
            shot_text_add_format(&text, ",%.2f", q);
        shot_text_add(&text, "\n");
    }
    return feed_log_in_blocks(chain, &text, 7);
}

static void expect_pulses(bool flow, double near) {
    feed got = found_in("pulses", 0, flow);
    for (int i = 0; i < RUNS - 1; i++) {
        const char *line = mark_line(got.out.bytes, "pulse", i);
        char refined[32];
        assert_non_null(line);
        assert_close(row_before(got.out.bytes, line), off[i] + 0.4, 0.4);
        assert_close(mark_number(line, "from"), on[i], near);
        assert_close(mark_number(line, "to"), off[i], near);
        snprintf(refined, sizeof refined, "refines=pulse-%d", i + 1);
        assert_non_null(strstr(got.out.bytes, refined));
    }
    assert_int_equal(mark_count(got.out.bytes, "pulse"), 2 * (RUNS - 1));
    feed_free(&got);
}

static void pulses_are_told_when_the_pump_has_stopped(void **state) {
    expect_pulses(true, 0.15);
}

static void so_they_are_by_the_pressure_alone(void **state) {
    expect_pulses(false, 0.4);
}

static void a_direct_shot_has_none(void **state) {
    feed by_flow = found_in("pulses", 11, true), alone = found_in("pulses", 11, false);
    assert_int_equal(mark_count(by_flow.out.bytes, "pulse"), 0);
    assert_int_equal(mark_count(alone.out.bytes, "pulse"), 0);
    feed_free(&by_flow);
    feed_free(&alone);
}

static void the_fill_ends_when_water_is_shut_off(void **state) {
    feed got = found_in("segment", 0, true);
    const char *line = mark_line(got.out.bytes, "fill", 1); /* the first told of a full basket */
    assert_non_null(line);
    assert_close(row_before(got.out.bytes, line), off[0] + 0.4, 0.4);
    assert_close(mark_number(line, "to"), off[0], 0.15);
    assert_non_null(strstr(got.out.bytes, "refines=fill-1"));
    assert_non_null(strstr(got.out.bytes, "refines=fill-2"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pulses_are_told_when_the_pump_has_stopped),
        cmocka_unit_test(so_they_are_by_the_pressure_alone),
        cmocka_unit_test(a_direct_shot_has_none),
        cmocka_unit_test(the_fill_ends_when_water_is_shut_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
