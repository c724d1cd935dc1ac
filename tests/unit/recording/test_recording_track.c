/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include "recording/recording_track.h"

enum { SAMPLES = 4000 };

static void fill(double *x) {
    for (int i = 0; i < SAMPLES; i++)
        x[i] = i < 1500 || i >= 2015 ? 1 + 0.001 * i : NAN;
}

static void take(shot_track *track, const double *x, size_t block) {
    for (size_t at = 0; at < SAMPLES; at += block)
        assert_int_equal(
            shot_track_push(track, x + at, SAMPLES - at < block ? SAMPLES - at : block, 1),
            SHOT_OK);
    assert_int_equal(shot_track_finish(track), SHOT_OK);
}

/* Protects: outputs lie at whole multiples of the ratio, before and behind a gap, which stays
 * missing; a straight line passes, so each output is its own place. */
static void test_gap_moves_nothing(void **state) {
    double x[SAMPLES];
    shot_track track;
    fill(x);
    assert_int_equal(shot_track_init(&track, 48), SHOT_OK);
    take(&track, x, SAMPLES);
    assert_int_equal(track.count, (SAMPLES - 1) / 48 + 1);
    for (size_t k = 0; k < track.count; k++) {
        size_t place = 48 * k;
        if (place >= 1500 && place < 2015)
            assert_true(isnan(track.out[k]));
        else /* a few roundings of weights that sum to 1 */
            assert_rel(track.out[k], 1 + 0.001 * (double)place, 1e-12);
    }
    shot_track_free(&track);
}

/* Protects: how the samples are cut into pushes changes no bit. */
static void test_blocks_do_not_matter(void **state) {
    double x[SAMPLES];
    fill(x);
    for (double ratio = 1; ratio < 60; ratio += 12.25) {
        shot_track whole, parts;
        assert_int_equal(shot_track_init(&whole, ratio), SHOT_OK);
        assert_int_equal(shot_track_init(&parts, ratio), SHOT_OK);
        take(&whole, x, SAMPLES);
        take(&parts, x, 7);
        assert_int_equal(whole.count, parts.count);
        assert_memory_equal(whole.out, parts.out, whole.count * sizeof *whole.out);
        shot_track_free(&whole);
        shot_track_free(&parts);
    }
}

/* Protects: a ratio is positive, and infinite samples are missing. */
static void test_ratio_and_infinity(void **state) {
    shot_track track;
    const double x[] = {1, INFINITY, 2};
    assert_int_equal(shot_track_init(&track, 0), SHOT_ERR_RANGE);
    shot_track_free(&track);
    assert_int_equal(shot_track_init(&track, 1), SHOT_OK);
    assert_int_equal(shot_track_push(&track, x, 3, 1), SHOT_OK);
    assert_true(track.out[0] == 1 && isnan(track.out[1]) && track.out[2] == 2);
    shot_track_drop(&track, 3);
    shot_track_free(&track);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gap_moves_nothing),
        cmocka_unit_test(test_blocks_do_not_matter),
        cmocka_unit_test(test_ratio_and_infinity),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
