/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a flow that the machine worked out from the scale is told from that of a water meter,
 * by the pressure that it leaves unexplained and by the scale, and never the other way round. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/channel.h>

#include "puck/beverage_flow.h"

/* Water from 3 s, full at 5 s, held at 3 bar, up to 9 bar at 12 s, drops from 13 s, off at 30 s. */
static double pressure_of(double t) {
    return t < 4 || t > 30 ? 0 : t < 5 ? 3 * (t - 4) : t < 11 ? 3 : fmin(9, 3 + 6 * (t - 11));
}

static double water_of(double t) {
    return t < 3 || t > 30 ? 0 : t < 5 ? 8 : t < 11 ? 0.4 : 2.2;
}

static double stream_of(double t) {
    return t < 13 || t > 31 ? 0 : 2.2 * (1 - exp(-(t - 13) / 0.8));
}

/* A pump that stands against a shut valve until 13 s, and a gauge before it. */
static double shut_pressure_of(double t) {
    return t < 4 || t > 30 ? 0 : 9;
}

static double shut_water_of(double t) {
    return t < 13 || t > 30 ? 0 : t < 16 ? 8 : 2.2;
}

typedef double (*curve)(double t);

static bool told(const char *gauge, curve pressure, curve flow, bool scale, double start) {
    shot_random random = shot_random_at(11, 0);
    shot_table shot = {0};
    shot_head head = {0};
    shot_head_set_name(&head, "hand-made");
    if (gauge != NULL)
        shot_head_add_line(&head, "gauge", gauge);
    shot_head_add_channel(&head, "time", "s");
    shot_head_add_channel(&head, "pressure", "bar");
    shot_head_add_channel(&head, "flow", "ml/s");
    shot_head_add_channel(&head, "weight", "g");
    assert_int_equal(shot_table_begin(&shot, &head), SHOT_OK);
    double weight = 0;
    for (double t = 0; t < 36; t += 0.1) {
        weight += 0.1 * stream_of(t - 0.5);
        double row[] = {t, pressure(t) + 0.05 * shot_random_normal(&random),
                        flow(t) + 0.05 * shot_random_normal(&random), scale ? weight : NAN};
        if (t >= start)
            assert_int_equal(shot_rows_append_row(&shot.rows, row), SHOT_OK);
    }
    const bool beverage = shot_flow_is_beverage(&shot);
    shot_head_free(&head);
    shot_table_free(&shot);
    return beverage;
}

static void a_stream_is_told_with_and_without_a_scale(void **state) {
    assert_true(told(NULL, pressure_of, stream_of, true, 0));
    assert_true(told(NULL, pressure_of, stream_of, false, 0));
    assert_true(told("puck", pressure_of, stream_of, false, 0));
    assert_true(told("pump", pressure_of, stream_of, true, 0));
}

/* A boiler of 0.9 bar wets the puck, and the spring goes on at 12 s, a second before drops fall. */
static double lever_pressure_of(double t) {
    return t < 4 || t > 30 ? 0 : t < 12 ? 0.9 : fmin(9, 0.9 + 20 * (t - 12));
}

static void a_stream_is_told_under_little_pressure_by_the_scale(void **state) {
    assert_true(told(NULL, lever_pressure_of, stream_of, true, 0));
    assert_false(told(NULL, lever_pressure_of, water_of, true, 0));
}

/* The rate of a scale over the first two of its figures, which noise alone tells apart. */
static double glitching_stream_of(double t) {
    return t > 0.05 && t < 0.15 ? 1 : stream_of(t);
}

static void a_lone_figure_where_the_log_begins_is_no_flow(void **state) {
    assert_true(told(NULL, pressure_of, glitching_stream_of, true, 0));
}

static double nothing(double t) {
    return 0;
}

/* A puck under pressure has had water, whatever the flow shows; a line before it need not. */
static void a_puck_that_chokes_is_told_from_a_pump_against_a_valve(void **state) {
    for (int scale = 0; scale < 2; scale++) {
        assert_true(told(NULL, pressure_of, nothing, scale, 0));
        assert_false(told("pump", pressure_of, nothing, scale, 0));
        assert_false(told(NULL, nothing, nothing, scale, 0));
    }
}

/* Also where the log starts in the fill, or in the soak, when little water runs. */
static void water_is_water(void **state) {
    for (double start = 0; start < 29; start += 0.5) {
        assert_false(told(NULL, pressure_of, water_of, true, start));
        assert_false(told(NULL, pressure_of, water_of, false, start));
    }
}

/* A gauge before a valve shows pressure without water, which then rushes in; the scale, or where
 * the gauge sits, tells that it is water. */
static void pressure_before_a_shut_valve_is_no_evidence(void **state) {
    assert_false(told(NULL, shut_pressure_of, shut_water_of, false, 0));
    assert_false(told(NULL, shut_pressure_of, shut_water_of, true, 0));
    assert_false(told("pump", shut_pressure_of, stream_of, false, 0));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stream_is_told_with_and_without_a_scale),
        cmocka_unit_test(a_stream_is_told_under_little_pressure_by_the_scale),
        cmocka_unit_test(a_puck_that_chokes_is_told_from_a_pump_against_a_valve),
        cmocka_unit_test(a_lone_figure_where_the_log_begins_is_no_flow),
        cmocka_unit_test(water_is_water),
        cmocka_unit_test(pressure_before_a_shut_valve_is_no_evidence),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
