/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a running count of the water tells of the flow, and how surely; that it goes on
 * where it starts anew, leaps or has a hole; and that half a count is all that it hides where the
 * water stands. */
#include <support/check.h>

#include <math.h>

#include "puck/water_counter.h"

enum { MOST = 500 };

typedef struct counter {
    double t[MOST], water[MOST], volume[MOST];
    size_t n;
    shot_counted counted;
} counter;

/* Water at 1.73 ml/s from 3 s to 20 s, and again from 25 s to 40 s. */
static double run_by(double t) {
    return 1.73 * (fmin(fmax(t - 3, 0), 17) + fmin(fmax(t - 25, 0), 15));
}

static void count(double step, counter *out) {
    *out = (counter){.n = 450};
    for (size_t i = 0; i < out->n; i++) {
        out->t[i] = 0.1 * (double)i + 0.013;
        out->water[i] = step * floor(run_by(out->t[i]) / step);
    }
}

static void look(counter *out) {
    assert_int_equal(shot_counted_new(out->t, out->water, out->n, &out->counted), SHOT_OK);
    shot_counted_volumes(&out->counted, out->volume);
}

/* The largest error of the volumes where water runs, less their mean. */
static double worst(const counter *of, double from, double to) {
    double sum = 0, n = 0, most = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < of->counted.n; i++) {
            const double t = of->counted.t[i], error = of->volume[i] - run_by(t);
            if (t < from || t > to)
                continue;
            if (pass == 0)
                sum += error, n++;
            else
                most = fmax(most, fabs(error - sum / n));
        }
    return most;
}

/* A count comes in a row of 0.1 s, in which 0.17 ml run: the volume is known to half of that, where
 * the figures of the rows are off by half of a ml. */
static void a_count_tells_its_volume_to_a_row(void **state) {
    counter one;
    count(1, &one);
    look(&one);
    assert_close(one.counted.step, 1, 1e-12);
    assert_close(one.counted.spacing, 1 / 1.73, 0.11);
    assert_close(one.counted.volume_sd, 0.173 / sqrt(12), 0.015);
    assert_true(worst(&one, 3.6, 19.4) < 0.12);
    shot_counted_free(&one.counted);
    count(0.1, &one);
    look(&one);
    assert_close(one.counted.volume_sd, 0.1 / sqrt(12), 0.005);
    assert_true(worst(&one, 3.6, 19.4) < 0.11);
    assert_true(one.counted.spacing > 0.15 && one.counted.spacing < 0.45); /* to a tenth */
    shot_counted_free(&one.counted);
}

/* The line stands for 5 s, and hides half a count before it and half a one behind. */
static void the_line_stands_where_no_count_comes(void **state) {
    counter one;
    count(1, &one);
    look(&one);
    size_t standing = 0;
    for (size_t i = 1; i < one.n; i++)
        standing += one.t[i] > 20 && one.t[i] < 25.5 && one.volume[i] == one.volume[i - 1];
    assert_in_range(standing, 43, 51);
    assert_close(one.volume[one.n - 1], run_by(45), 0.6);
    assert_close(one.volume[0], 0.5, 1e-12);
    shot_counted_free(&one.counted);
}

/* One that starts anew at 12 s, one that is set to another figure, and one with a hole of 2 s. */
static void a_break_is_no_water(void **state) {
    counter whole, anew, set, holed;
    count(1, &whole);
    anew = set = holed = whole;
    for (size_t i = 0; i < whole.n; i++) {
        anew.water[i] -= whole.t[i] > 12 ? whole.water[120] : 0;
        set.water[i] += whole.t[i] > 12 ? 250 : 0;
        holed.water[i] = whole.t[i] > 12 && whole.t[i] < 14 ? NAN : whole.water[i];
    }
    counter *const all[] = {&anew, &set, &holed};
    for (size_t i = 0; i < 3; i++) {
        look(all[i]);
        assert_close(all[i]->volume[all[i]->counted.n - 1], run_by(45), 1.6);
        assert_true(worst(all[i], 15, 19.4) < 0.12);
        shot_counted_free(&all[i]->counted);
    }
}

/* Four counts are no flow. */
static void few_counts_tell_nothing(void **state) {
    counter one;
    count(1, &one);
    for (size_t i = 0; i < one.n; i++)
        one.water[i] = fmin(one.water[i], 4);
    assert_int_equal(shot_counted_new(one.t, one.water, one.n, &one.counted), SHOT_ERR_SINGULAR);
    shot_counted_free(&one.counted);
}

/* Where a flow is logged, it tells. */
static void a_logged_flow_comes_first(void **state) {
    shot_head head = {0};
    shot_head_add_channel(&head, "time", "s");
    assert_false(shot_water_is_counted(&head));
    shot_head_add_channel(&head, "water", "ml");
    assert_true(shot_water_is_counted(&head));
    shot_head_add_channel(&head, "flow", "ml/s");
    assert_false(shot_water_is_counted(&head));
    shot_head_free(&head);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_count_tells_its_volume_to_a_row),
        cmocka_unit_test(the_line_stands_where_no_count_comes),
        cmocka_unit_test(a_break_is_no_water),
        cmocka_unit_test(few_counts_tell_nothing),
        cmocka_unit_test(a_logged_flow_comes_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
