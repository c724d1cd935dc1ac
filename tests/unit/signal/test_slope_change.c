/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: bends are found in the right number and near their places, and noise alone gives none
 * at the stated rate. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/slope_change.h>

enum { MOST = 3000 };

static double textbook(double t) {
    return t < 6.5  ? 8.7 * t / 6.5
           : t < 7  ? 8.7 + 0.6 * (t - 6.5)
           : t < 27 ? 9
                    : fmax(0, 9 - 9 * (t - 27));
}

static size_t find(size_t n, double noise, int index, double rate, double (*signal)(double),
                   double *at, size_t most) {
    static double t[MOST], y[MOST];
    shot_random random = shot_random_at(31, (uint64_t)index);
    for (size_t i = 0; i < n; i++) {
        t[i] = (double)i / rate;
        y[i] = (signal ? signal(t[i]) : 0) + noise * shot_random_normal(&random);
    }
    shot_slope_changes *changes;
    assert_int_equal(
        shot_slope_changes_find(t, y, n, noise, shot_slope_threshold(n, 0.01), &changes), SHOT_OK);
    size_t count = changes->count;
    for (size_t i = 0; i < count && i < most; i++)
        at[i] = changes->at[i];
    shot_slope_changes_free(changes);
    return count;
}

/* At 1 %: the numbers allowed are passed in 1 of 1000 runs of that rate (binomial). */
static void noise_alone_has_no_bend(void **state) {
    const struct {
        size_t n;
        int series, most;
    } runs[] = {{100, 2000, 35}, {300, 2000, 35}, {1000, 1000, 20}, {3000, 500, 13}};
    for (size_t r = 0; r < 4; r++) {
        int alarms = 0;
        double at[1];
        for (int i = 0; i < runs[r].series; i++)
            alarms += find(runs[r].n, 0.05, i, 10, NULL, at, 1) > 0;
        print_message("%zu samples: %d alarms in %d series\n", runs[r].n, alarms, runs[r].series);
        assert_in_range(alarms, 0, runs[r].most);
    }
}

/* Knees at 6.5, 7, 27 and 28 s. With a noise of 0.01 bar the small final rise of 0.3 bar is seen in
 * every series; within 0.3 s, three samples.  A bend placed a sample off may leave a second beside
 * it in one series of ten. */
static void the_knees_of_a_shot_are_found(void **state) {
    const double truth[] = {6.5, 7, 27, 28};
    int extra = 0;
    for (int i = 0; i < 50; i++) {
        double at[8];
        size_t count = find(300, 0.01, i, 10, textbook, at, 8);
        extra += (int)count - 4;
        for (int k = 0; k < 4; k++) {
            double nearest = INFINITY;
            for (size_t j = 0; j < count && j < 8; j++)
                nearest = fmin(nearest, fabs(at[j] - truth[k]));
            assert_true(nearest <= 0.3);
        }
    }
    assert_in_range(extra, 0, 5);
}

static void short_or_senseless_input_is_answered(void **state) {
    double t[] = {0, 1, 2}, y[] = {0, 1, 0};
    shot_slope_changes *changes;
    assert_int_equal(shot_slope_changes_find(t, y, 3, 1, 10, &changes), SHOT_OK);
    assert_int_equal(changes->count, 0);
    shot_slope_changes_free(changes);
    assert_int_equal(shot_slope_changes_find(t, y, 3, 0, 10, &changes), SHOT_ERR_RANGE);
    assert_null(changes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(noise_alone_has_no_bend),
        cmocka_unit_test(the_knees_of_a_shot_are_found),
        cmocka_unit_test(short_or_senseless_input_is_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
