/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what passes and what is rejected, straight lines up to the ends, no output outside the
 * input, and the same bits for any blocks. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/bandlimited.h>
#include <shottrace/signal/random.h>

#include "signal/pi.h"

static const double RATIOS[] = {24,      49,      1,           2,   3,         0.5,
                                1.0 / 3, 2.0 / 3, 147.0 / 160, 7.3, 0.1234567, SHOT_PI};
enum { RATIO_COUNT = sizeof RATIOS / sizeof *RATIOS };

/* Resample the whole run at once; *y is owned by the caller. */
static size_t resample(double ratio, double offset, const double *x, size_t n, double **y) {
    shot_bandlimited *b;
    assert_int_equal(shot_bandlimited_new(ratio, offset, SHOT_BANDLIMITED_DEFAULT, &b), SHOT_OK);
    const size_t room = shot_bandlimited_room(b, n);
    *y = malloc((room + 1) * sizeof **y);
    size_t made = shot_bandlimited_push(b, x, n, *y);
    made += shot_bandlimited_finish(b, *y + made);
    assert_true(made <= room);
    shot_bandlimited_free(b);
    return made;
}

static void outputs_lie_inside_the_input(void **state) {
    const double x[101] = {0};
    double *y;
    assert_int_equal(resample(5, 0, x, 101, &y), 21); /* 0, 5, .. 100 */
    free(y);
    assert_int_equal(resample(5, 1, x, 101, &y), 20); /* 1, 6, .. 96 */
    free(y);
    assert_int_equal(resample(0.1, 0, x, 101, &y), 1001); /* 1000 * 0.1 is 100, rounded or not */
    free(y);
    assert_int_equal(resample(1.0 / 3, 0, x, 101, &y), 301);
    free(y);
    assert_int_equal(resample(1, 101, x, 101, &y), 0);
    free(y);
    assert_int_equal(resample(1, 0, x, 0, &y), 0);
    free(y);
}

/* Also in runs far shorter than the kernel, which are reflected at both ends many times. */
static void straight_lines_stay_straight_to_the_ends(void **state) {
    const size_t lengths[] = {1, 2, 3, 10, 77, 160, 161, 1000};
    double x[1000];
    for (size_t i = 0; i < 1000; i++)
        x[i] = 9 - 0.01 * (double)i;
    for (size_t r = 0; r < RATIO_COUNT; r++)
        for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++) {
            double *y;
            const double offset = lengths[l] > 1 ? 0.25 : 0;
            const size_t made = resample(RATIOS[r], offset, x, lengths[l], &y);
            assert_true(made > 0);
            for (size_t m = 0; m < made;
                 m++) /* symmetric weights off by the stop band, 1e-6 * step */
                assert_close(y[m], 9 - 0.01 * (offset + (double)m * RATIOS[r]), 2e-8);
            free(y);
        }
}

static void an_end_sample_comes_back(void **state) {
    shot_random random = shot_random_at(2, 0);
    double x[501];
    for (size_t i = 0; i < 501; i++)
        x[i] = shot_random_normal(&random);
    double *y;
    const size_t made = resample(2, 0, x, 501, &y);
    assert_int_equal(made, 251);
    assert_true(y[0] == x[0] && y[250] == x[500]);
    free(y);
}

/* Worst deviation from a tone of f cycles per input sample (or from 0 where it must vanish), away
 * from the ends. */
static double worst_error(double ratio, double f, int passes) {
    enum { N = 6000 };
    static double x[N];
    double *y, worst = 0;
    for (size_t i = 0; i < N; i++)
        x[i] = cos(2 * SHOT_PI * f * (double)i + 0.7);
    const size_t made = resample(ratio, 0.3, x, N, &y);
    const double margin = 100 * fmax(1, ratio);
    for (size_t m = 0; m < made; m++) {
        const double at = 0.3 + (double)m * ratio;
        if (at > margin && at < N - margin)
            worst = fmax(worst, fabs(y[m] - passes * cos(2 * SHOT_PI * f * at + 0.7)));
    }
    free(y);
    return worst;
}

/* 120 dB: what is kept is right to 1e-6, what is rejected is below 1e-6.  The bench sweeps finely;
 * here are the edges and some tones between them. */
static void the_band_is_kept_and_the_rest_rejected(void **state) {
    const double kept[] = {0.001, 0.3, 0.77, 0.9}, rejected[] = {1, 1.01, 1.37, 1.9};
    for (size_t r = 0; r < RATIO_COUNT; r++) {
        const double nyquist = 0.5 / fmax(1, RATIOS[r]); /* of the lower rate, per input sample */
        for (size_t k = 0; k < 4; k++)
            assert_true(worst_error(RATIOS[r], kept[k] * nyquist, 1) < 1e-6);
        for (size_t k = 0; k < 4; k++)
            if (rejected[k] * nyquist < 0.5)
                assert_true(worst_error(RATIOS[r], rejected[k] * nyquist, 0) < 1e-6);
    }
}

static void blocks_do_not_matter_nor_does_a_reset(void **state) {
    enum { N = 3000 };
    const size_t blocks[] = {1, 7, 160, 1023};
    double x[N], part[4 * N];
    shot_random random = shot_random_at(3, 0);
    for (size_t i = 0; i < N; i++)
        x[i] = shot_random_normal(&random);
    for (size_t r = 0; r < RATIO_COUNT; r++)
        for (size_t n = 50; n <= N; n *= 7) {
            double *whole;
            shot_bandlimited *b;
            const size_t count = resample(RATIOS[r], 0.2, x, n, &whole);
            shot_bandlimited_new(RATIOS[r], 5, SHOT_BANDLIMITED_DEFAULT, &b);
            shot_bandlimited_push(b, x, 60, part); /* another run before it */
            for (size_t k = 0; k < 4 && count < 4 * N; k++) {
                size_t made = 0;
                shot_bandlimited_reset(b, 0.2);
                for (size_t i = 0; i < n; i += blocks[k]) {
                    const size_t take = n - i < blocks[k] ? n - i : blocks[k];
                    made += shot_bandlimited_push(b, x + i, take, part + made);
                }
                made += shot_bandlimited_finish(b, part + made);
                assert_int_equal(made, count);
                assert_memory_equal(part, whole, count * sizeof *part);
            }
            shot_bandlimited_free(b);
            free(whole);
        }
}

static void wrong_arguments_are_refused(void **state) {
    const shot_bandlimited_quality good = SHOT_BANDLIMITED_DEFAULT;
    shot_bandlimited *b = (shot_bandlimited *)&good;
    assert_int_equal(shot_bandlimited_new(0, 0, good, &b), SHOT_ERR_RANGE);
    assert_null(b);
    assert_int_equal(shot_bandlimited_new(NAN, 0, good, &b), SHOT_ERR_RANGE);
    assert_int_equal(shot_bandlimited_new(INFINITY, 0, good, &b), SHOT_ERR_RANGE);
    assert_int_equal(shot_bandlimited_new(1, -1, good, &b), SHOT_ERR_RANGE);
    assert_int_equal(shot_bandlimited_new(1, 0, (shot_bandlimited_quality){120, 1}, &b),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_bandlimited_new(1, 0, (shot_bandlimited_quality){10, 0.9}, &b),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_bandlimited_new(1e300, 0, good, &b), SHOT_ERR_MEMORY);
    assert_null(b);
    shot_bandlimited_free(NULL);
}

/* Every output is the sum of its weights times the samples, at the ends and inside, in runs of any
 * length, at any ratio, in one step and in two; weights do not reach back behind those of the
 * output before.  1e-12: some thousand roundings of numbers near 1. */
static void weights_make_the_outputs(void **state) {
    enum { MOST = 4000 };
    static double x[MOST], y[2 * MOST];
    const struct {
        double ratio, offset;
        size_t n;
    } cases[] = {{1, 0, 700},      {2, 0.3, 900},  {0.5, 0, 300}, {1.37, 0.2, 900}, {7.3, 1, 4000},
                 {0.31, 0.5, 800}, {48, 5, 4000},  {24, 0, 1500}, {48, 0, 30},      {2, 0, 4},
                 {0.5, 0, 3},      {0.75, 0.1, 2}, {2, 0, 1},     {1, 0, 170}};
    shot_random random = shot_random_at(36, 1);
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        shot_bandlimited *b;
        assert_int_equal(
            shot_bandlimited_new(cases[c].ratio, cases[c].offset, SHOT_BANDLIMITED_DEFAULT, &b),
            SHOT_OK);
        double *weight = malloc(shot_bandlimited_span(b) * sizeof *weight);
        size_t made = 0, weighed = 0;
        uint64_t last = 0;
        for (size_t i = 0; i < cases[c].n; i++)
            x[i] = shot_random_normal(&random);
        for (size_t i = 0; i <= cases[c].n; i += 50) {
            const size_t some = cases[c].n - i < 50 ? cases[c].n - i : 50;
            made += shot_bandlimited_push(b, x + i, some, y + made);
            if (some < 50 || i + 50 > cases[c].n)
                made += shot_bandlimited_finish(b, y + made);
            for (; weighed < made; weighed++) {
                uint64_t first;
                double sum = 0;
                const size_t count = shot_bandlimited_weights(b, weighed, &first, weight);
                assert_true(count > 0 && count <= shot_bandlimited_span(b) && first >= last);
                for (size_t k = 0; k < count; k++)
                    sum += weight[k] * x[first + k];
                assert_close(sum, y[weighed], 1e-12);
                last = first;
            }
        }
        assert_true(weighed > 0);
        free(weight);
        shot_bandlimited_free(b);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_make_the_outputs),
        cmocka_unit_test(outputs_lie_inside_the_input),
        cmocka_unit_test(straight_lines_stay_straight_to_the_ends),
        cmocka_unit_test(an_end_sample_comes_back),
        cmocka_unit_test(the_band_is_kept_and_the_rest_rejected),
        cmocka_unit_test(blocks_do_not_matter_nor_does_a_reset),
        cmocka_unit_test(wrong_arguments_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
