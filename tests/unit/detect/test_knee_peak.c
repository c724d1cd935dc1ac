/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: in a curve the place of the greatest change of slope is told where noise is small
 * against it, and no other place is told where it is not. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>

#include "detect/knee_peak.h"

enum { N = 200, LOGS = 200 };

/* A ramp that goes over into a stand within a second, evenly: its slope over half a second differs
 * most from that over the next at 2 s, the middle. */
static double bend(double t) {
    const double u = fmin(1, fmax(0, t - 1.5));
    return 6 * (fmin(t, 1.5) + u - u * u / 2);
}

static double peak_seen_from(double at, double sd, uint64_t seed) {
    double t[N], y[N];
    shot_random random = shot_random_at(91, seed);
    for (int i = 0; i < N; i++) {
        t[i] = i * 0.02;
        y[i] = bend(t[i]) + sd * shot_random_normal(&random);
    }
    const shot_channel_view view = {.t = t, .y = y, .n = N, .noise = {.sd = sd, .inflation = 1}};
    line_sums *sums;
    assert_int_equal(line_sums_new(t, y, NULL, N, &sums), SHOT_OK);
    const double peak = shot_knee_peak(&view, sums, at, 0.5, -1, 0.95);
    line_sums_free(sums);
    return peak;
}

/* Three samples: about its top the change falls as slowly as a parabola. */
static void the_peak_of_a_bend_is_told(void **state) {
    assert_close(peak_seen_from(1.7, 1e-4, 0), 2, 0.06);
    assert_close(peak_seen_from(2.3, 1e-4, 0), 2, 0.06);
}

/* From the true place noise leads away as rarely as the level says: in 5 % of 200 logs and three
 * binomial standard errors, 19, and as the highest of many places, not one, is compared, in twice
 * as many. */
static void noise_is_no_peak(void **state) {
    int moved = 0;
    for (uint64_t seed = 0; seed < LOGS; seed++)
        moved += peak_seen_from(2.01, 0.05, seed) != 2.01;
    print_message("moved in %d of %d\n", moved, LOGS);
    assert_in_range(moved, 0, 38);
}

static void too_few_samples_move_nothing(void **state) {
    double t[] = {0, 0.5, 1, 1.5, 2}, y[] = {0, 0, 0, 1, 2};
    const shot_channel_view view = {.t = t, .y = y, .n = 5, .noise = {.sd = 0.1, .inflation = 1}};
    line_sums *sums;
    assert_int_equal(line_sums_new(t, y, NULL, 5, &sums), SHOT_OK);
    assert_close(shot_knee_peak(&view, sums, 1.1, 0.2, 1, 0.95), 1.1, 0);
    assert_close(shot_knee_peak(&view, sums, -1, 0.2, 1, 0.95), -1, 0);
    assert_close(shot_knee_peak(&view, sums, 5, 0.2, 1, 0.95), 5, 0);
    line_sums_free(sums);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_peak_of_a_bend_is_told),
        cmocka_unit_test(noise_is_no_peak),
        cmocka_unit_test(too_few_samples_move_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
