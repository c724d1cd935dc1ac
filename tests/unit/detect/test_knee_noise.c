/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the scatter of changes of slope is that of the noise, also where knees follow each
 * other so closely that most windows hold one, and where only part of a channel is loud; what wide
 * windows, of which a log holds few, leave open of it is told by the narrow ones. */
#include <support/check.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/flicker.h>
#include <shottrace/signal/random.h>

#include "detect/knee_noise.h"
#include "signal/hinge.h"

#define assert_between(value, low, high)                                                           \
    assert_close(value, ((low) + (high)) / 2.0, ((high) - (low)) / 2.0)

enum { N = 600 };
static const double SD = 0.05, SPACING = 0.05;

static shot_channel_view noise(uint64_t seed) {
    shot_random random = shot_random_at(79, seed);
    shot_channel_view view = {.n = N, .noise = {.sd = SD}};
    view.t = calloc(N, sizeof *view.t);
    view.y = calloc(N, sizeof *view.y);
    for (size_t i = 0; i < N; i++) {
        view.t[i] = SPACING * (double)i;
        view.y[i] = SD * shot_random_normal(&random);
    }
    return view;
}

/* *squares: the mean of the squares of what it is taken from. */
static double restlessness_and(const shot_channel_view *view, double reach, double *squares) {
    double change[N], score[N], work[N], sum = 0;
    size_t seen = 0;
    line_sums *sums;
    assert_int_equal(line_sums_new(view->t, view->y, NULL, N, &sums), SHOT_OK);
    for (size_t i = 0; i < N; i++) {
        const double x = sums->x[i];
        hinge h = hinge_fit(sums, line_sums_index(sums, x - reach - 1e-9), i,
                            line_sums_index(sums, x + reach), x);
        change[i] = h.change;
        score[i] = fabs(h.change) / h.se / SD;
        sum += score[i] * score[i];
        seen += isfinite(h.se);
    }
    *squares = sum / (double)seen;
    const double found = shot_knee_restlessness(sums->x, change, score, N, reach, work);
    line_sums_free(sums);
    return found;
}

static double restlessness(const shot_channel_view *view, double reach) {
    double squares;
    return restlessness_and(view, reach, &squares);
}

/* Mean of 20 logs; a log holds 60 values for each half-width of half a second, whose quartile has a
 * relative error of a fifth: 5 % of the mean. */
static void white_noise_is_not_restless(void **state) {
    double sum = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_channel_view view = noise(seed);
        sum += restlessness(&view, 0.5) / 20;
        shot_channel_view_free(&view);
    }
    assert_between(sum, 1, 1.2);
}

/* In 1/f noise the scale is that of the changes in the mean: of two estimates the smaller counts,
 * which alone is 2.5 % too small.  A log tells it to 7 %, the mean of 200 to 0.5 %: three of them.
 */
static void slow_noise_is_not_taken_for_less(void **state) {
    double sum = 0, squares, all = 0;
    for (uint64_t seed = 0; seed < 200; seed++) {
        shot_channel_view view = noise(seed);
        shot_flicker slow;
        shot_flicker_start(&slow, shot_random_at(83, seed), N * SPACING);
        for (size_t i = 0; i < N; i++)
            view.y[i] = SD * shot_flicker_step(&slow, SPACING);
        sum += restlessness_and(&view, 0.25, &squares) / 200;
        all += squares / 200;
        shot_channel_view_free(&view);
    }
    assert_close(sum / sqrt(all), 1, 0.015);
}

/* A knee of 2 bar/s each 3 s: seen from 1 s two windows of three hold one, and the median change is
 * some ten standard errors. */
static void knees_are_not_noise(void **state) {
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_channel_view view = noise(seed);
        for (size_t i = 0; i < N; i++)
            view.y[i] += fabs(fmod(view.t[i], 6) - 3);
        assert_between(restlessness(&view, 1), 1, 5);
        shot_channel_view_free(&view);
    }
}

/* Three times the noise from 10 to 20 s. */
static void the_loud_part_is_loud(void **state) {
    double loud[N], work[N];
    shot_channel_view view = noise(1);
    for (size_t i = 200; i < 400; i++)
        view.y[i] *= 3;
    assert_int_equal(shot_knee_loudness(&view, loud, work), SHOT_OK);
    for (size_t i = 0; i < N; i++) {
        if (i > 230 && i < 370)
            assert_between(loud[i], 1.8, 5);
        if (i < 170 || i > 430)
            assert_between(loud[i], 1, 1.8);
    }
    shot_channel_view_free(&view);
}

enum { OCTAVES = 6 };

/* Widths of 1/8, 1/4, 1/2, ... s with the restlessness of white and 1/f noise, by `slope`; a log of
 * 30 s tells it at each as well as twice as many values as it holds such widths. */
static void white_and_slow(double slope, shot_knee_rest out[OCTAVES]) {
    double reach = 0.125;
    for (int k = 0; k < OCTAVES; k++, reach *= 2)
        out[k] = (shot_knee_rest){reach, sqrt(1 + slope * reach), 0.8 * 30 / reach};
}

static void widths_agree_on_one_noise(void **state) {
    shot_knee_rest widths[OCTAVES];
    for (double slope = 0; slope < 1e4; slope = 10 * slope + 0.1) {
        white_and_slow(slope, widths);
        const shot_knee_rest *last = &widths[OCTAVES - 1];
        const shot_knee_rest all = shot_knee_restlessness_of_all(widths, OCTAVES);
        assert_close(all.times, last->times, 1e-12 * last->times);
        assert_true(all.freedom > 0.99 * 0.5 * last->freedom);
    }
}

/* Where 1/f noise is nearly all, every width tells its slope to the same part: half of the sum. */
static void slow_noise_is_known_from_narrow_windows(void **state) {
    shot_knee_rest widths[OCTAVES];
    double sum = 0;
    white_and_slow(1e6, widths);
    for (int k = 0; k < OCTAVES; k++)
        sum += widths[k].freedom;
    const shot_knee_rest all = shot_knee_restlessness_of_all(widths, OCTAVES);
    assert_close(all.freedom, sum / 2, 1e-3 * sum);
}

/* Where 1/f noise is all, what neighbouring samples scatter is a part of it, and wide windows are
 * as restless as that makes them, with no white part added. */
static void slow_noise_alone_has_no_white_part(void **state) {
    shot_knee_rest widths[OCTAVES];
    white_and_slow(0, widths);
    for (int k = 0; k < OCTAVES; k++)
        widths[k].times = sqrt(5 * widths[k].reach);
    for (size_t count = 2; count <= OCTAVES; count++) {
        const double expected = widths[count - 1].times;
        assert_close(shot_knee_restlessness_of_all(widths, count).times, expected, 1e-9 * expected);
    }
}

static void a_width_without_windows_tells_nothing(void **state) {
    shot_knee_rest widths[OCTAVES];
    white_and_slow(8, widths);
    widths[0].times = widths[1].times = 0;
    const shot_knee_rest some = shot_knee_restlessness_of_all(widths + 2, OCTAVES - 2);
    const shot_knee_rest all = shot_knee_restlessness_of_all(widths, OCTAVES);
    assert_close(all.times, some.times, 1e-12 * some.times);
    assert_close(all.freedom, some.freedom, 1e-12 * some.freedom);
}

/* One wide window in which chance shows no slow noise does not hide that the others do. */
static void chance_in_a_wide_window_counts_little(void **state) {
    shot_knee_rest widths[OCTAVES];
    white_and_slow(8, widths);
    const double expected = widths[OCTAVES - 1].times;
    widths[OCTAVES - 1].times = 1;
    const shot_knee_rest all = shot_knee_restlessness_of_all(widths, OCTAVES);
    assert_between(all.times, 0.85 * expected, expected);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(white_noise_is_not_restless),
        cmocka_unit_test(slow_noise_is_not_taken_for_less),
        cmocka_unit_test(knees_are_not_noise),
        cmocka_unit_test(the_loud_part_is_loud),
        cmocka_unit_test(widths_agree_on_one_noise),
        cmocka_unit_test(slow_noise_is_known_from_narrow_windows),
        cmocka_unit_test(slow_noise_alone_has_no_white_part),
        cmocka_unit_test(a_width_without_windows_tells_nothing),
        cmocka_unit_test(chance_in_a_wide_window_counts_little),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
