/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a meter or a logger shows but seldom is taken for what it is, and a pump that
 * stands still for no surge. */
#include <support/surge_shot.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>
#include <support/turns.h>

#include "detect/surge_drive.h"

static void add_row(shot_text *text, double t, double pressure, double flow, shot_random *random) {
    shot_text_add_format(text, "%.2f,%.2f,%.2f\n", t, pressure + 0.02 * shot_random_normal(random),
                         flow + 0.02 * shot_random_normal(random));
}

/* A bed whose resistance falls by 1 % a second. */
static double bed_at(double t) {
    return 4.2 * exp(-0.01 * (t - 18));
}

/* Somebody eases off from 9 to `to` bar: the pump stands still for 0.6 s, while the room over the
 * bed empties, and a bed that is pressed less lets through a little more for its pressure. */
static size_t found_while_eased(double rate, double to, uint64_t seed) {
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 41);
    const double starts = 18 + shot_random_uniform(&random) / rate;
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 34 * rate; i++) {
        const double t = i / rate, since = fmax(0, t - starts);
        const double fallen = (9 - to) * (1 - exp(-pow(since / 0.35, 1.5)));
        const double pressure = fmax(0, 9 * (ramp(t, 4, 2) - ramp(t, 31, 0.3)) - fallen);
        const double through = pressure / bed_at(t) / (1 - 0.1 * ramp(t, starts, 0.8));
        const bool pumps = t > 1 && t < 31 && !(since > 0 && since < 0.6);
        add_row(&text, t, pressure, pumps ? 5 * (1 - ramp(t, 4, 0.5)) + through : 0, &random);
    }
    return final_count_of("surges", &text, "surge");
}

/* The fewer the rows, the more of them lie in the change. */
static void pressure_that_is_lowered_is_none_in_a_slow_log(void **state) {
    for (uint64_t seed = 0; seed < turns(8); seed++) {
        assert_int_equal(found_while_eased(2, seed % 2 == 0 ? 6 : 3, seed), 0);
        assert_int_equal(found_while_eased(5, seed % 2 == 0 ? 7 : 4, seed), 0);
    }
}

/* The pump stands still for 1.8 s.  Pressure falls at no flow, and when it comes back more flows
 * than before, into the room over the bed. */
static void a_pump_that_stands_still_is_none(void **state) {
    const double rates[] = {10, 20, 25};
    for (uint64_t seed = 0; seed < turns(9); seed++) {
        const double rate = rates[seed % 3], fall = seed < 6 ? 0.68 : 0.9;
        shot_text text = {0};
        shot_random random = shot_random_at(seed, 42);
        shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
        for (int i = 0; i < 34 * rate; i++) {
            const double t = i / rate, since = t - 15, back = since - 1.8;
            const double held = 9 * (ramp(t, 4, 2) - ramp(t, 31, 0.3));
            const double gone = since > 0 ? exp(-fmin(since, 1.8) / fall) : 1;
            const double pressure = held * (back > 0 ? 1 - (1 - gone) * exp(-back / 0.3) : gone);
            const double fills =
                5 * (1 - ramp(t, 4, 0.5)) + (back > 0 ? 3.5 * exp(-back / 0.3) : 0);
            const bool pumps = t > 1 && t < 31 && !(since > 0 && back < 0.05);
            add_row(&text, t, pressure, pumps ? fills + pressure / 3.2 : 0, &random);
        }
        assert_int_equal(final_count_of("surges", &text, "surge"), 0);
    }
}

/* Two grams a second, exactly, at 5 Hz: 2 g/s, wherever the rows lie in the time that is asked for,
 * and whichever of them are lost. */
static void a_hole_does_not_change_what_a_scale_says_flows(void **state) {
    enum { ROWS = 50 };
    double t[ROWS], y[ROWS];
    for (int hole = 0; hole < 6; hole++) {
        conductance_data data = {.t = t, .y = y, .summed = true, .sd = 0.1};
        for (int i = 0; i < ROWS; i++)
            if (i <= 20 || i > 20 + hole) {
                t[data.n] = 0.2 * i;
                y[data.n++] = 2 * 0.2 * i;
            }
        for (int k = 0; k < 30; k++) {
            double se, flow = surge_mean_flow(&data, 3 + 0.05 * k, 4.3 + 0.05 * k, &se);
            if (isfinite(se))
                assert_float_equal(flow, 2, 1e-9);
        }
    }
}

/* Two rows, of a noise of 0.1 g, a second apart. */
static void the_error_of_a_scales_flow_is_that_of_its_rows(void **state) {
    double t[] = {0.1, 1.1}, y[] = {0, 2}, se;
    const conductance_data data = {.t = t, .y = y, .n = 2, .summed = true, .sd = 0.1};
    assert_float_equal(surge_mean_flow(&data, 0, 1.5, &se), 2, 1e-9);
    assert_float_equal(se, 0.1 * sqrt(2), 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pressure_that_is_lowered_is_none_in_a_slow_log),
        cmocka_unit_test(a_pump_that_stands_still_is_none),
        cmocka_unit_test(a_hole_does_not_change_what_a_scale_says_flows),
        cmocka_unit_test(the_error_of_a_scales_flow_is_that_of_its_rows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
