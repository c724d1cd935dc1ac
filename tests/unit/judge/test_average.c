/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the median and band of shots laid over each other, holes that stay holes, and bytes
 * that do not depend on how the input arrived. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>

#include "judge/average_parts.h"

static void make_shot(shot_table *shot, const char *name, double start, double level,
                      double missing_from, double missing_to) {
    shot_head head = {0};
    shot_head_set_name(&head, name);
    shot_head_add_channel(&head, "time", "s");
    shot_head_add_channel(&head, "pressure", "bar");
    assert_int_equal(shot_table_begin(shot, &head), SHOT_OK);
    shot_head_free(&head);
    for (int i = 0; i <= 100; i++) {
        double t = i * 0.1, y = t > missing_from && t < missing_to ? NAN : level * (t - start);
        assert_int_equal(shot_rows_append_row(&shot->rows, (double[]){t, y}), SHOT_OK);
    }
}

/* Five ramps with slopes 1 to 5, each from its own start: at t after the start the median is 3 t
 * and the middle 50 % lie from 2 t to 4 t (quantiles of definition 7), however the starts lie
 * between the samples. */
static void ramps_have_the_middle_slope(void **state) {
    average_channels channels = {0};
    average_shot shots[5];
    const average_shot *all[5];
    for (int i = 0; i < 5; i++) {
        shot_table shot = {0};
        make_shot(&shot, "s", 0.037 * i, i + 1, 20, 20);
        assert_int_equal(average_shot_take(&shot, 0.037 * i, 10, 1, &channels, &shots[i], NULL),
                         SHOT_OK);
        all[i] = &shots[i];
        shot_table_free(&shot);
    }
    average_band band;
    assert_int_equal(average_band_find(all, 5, 1, 0.5, &band), SHOT_OK);
    for (size_t r = 0; r < band.rows; r++) {
        double t = (double)(band.first + (long)r) / 10;
        if (band.shots[r] < 5)
            continue;
        assert_close(band.median[0][r], 3 * t, 1e-12);
        assert_close(band.low[0][r], 2 * t, 1e-12);
        assert_close(band.high[0][r], 4 * t, 1e-12);
    }
    /* The shot of slope 4 is off by t: over rows 0 to 9.8 its root mean square is known. */
    double rms, outside, squares = 0, rows = 0;
    average_band_distance(&band, &shots[3], 0, &rms, &outside);
    for (size_t r = 0; r < band.rows; r++) {
        double t = (double)(band.first + (long)r) / 10;
        double value = 4 * t - band.median[0][r];
        if (isnan(band.median[0][r]) || band.first + (long)r < shots[3].first ||
            band.first + (long)r >= shots[3].first + (long)shots[3].rows)
            continue;
        squares += value * value;
        rows++;
    }
    assert_close(rms, sqrt(squares / rows), 1e-12);
    average_band_free(&band);
    for (int i = 0; i < 5; i++)
        average_shot_free(&shots[i]);
    average_channels_free(&channels);
}

/* A hole longer than the gap stays one; a shorter one is bridged; less than half of the shots are
 * no middle. */
static void holes_stay_holes(void **state) {
    average_channels channels = {0};
    average_shot shots[2];
    const average_shot *all[2] = {&shots[0], &shots[1]}, *first[3] = {&shots[0], &shots[1], NULL};
    shot_table shot = {0};
    make_shot(&shot, "short hole", 0, 1, 2.05, 2.95);
    assert_int_equal(average_shot_take(&shot, 0, 10, 1, &channels, &shots[0], NULL), SHOT_OK);
    shot_table_free(&shot);
    make_shot(&shot, "long hole", 0, 1, 2.05, 4.05);
    assert_int_equal(average_shot_take(&shot, 0, 10, 1, &channels, &shots[1], NULL), SHOT_OK);
    shot_table_free(&shot);
    assert_close(shots[0].column[0][25], 2.5, 1e-12);
    assert_true(isnan(shots[1].column[0][25]));
    assert_false(isnan(shots[1].column[0][20]) || isnan(shots[1].column[0][41]));
    average_band band;
    assert_int_equal(average_band_find(all, 2, 1, 0.9, &band), SHOT_OK);
    assert_close(band.median[0][25], 2.5, 1e-12); /* one of two is half */
    assert_rel(band.shots[25], 1, 0);
    average_band_free(&band);
    average_shot empty = {0};
    first[2] = &empty;
    assert_int_equal(average_band_find(first, 3, 1, 0.9, &band), SHOT_OK);
    assert_true(isnan(band.median[0][25])); /* one of three is not */
    average_band_free(&band);
    average_shot_free(&shots[0]);
    average_shot_free(&shots[1]);
    average_channels_free(&channels);
}

/* Ramps of slope 1, 2 and 3, the first of them logged to 4.9 s only: at 8 s its 4.9 stays below,
 * and the median is that of slope 2.  Left out it would leave 20, between the two others. */
static void an_ended_log_stands_in_with_its_last_value(void **state) {
    average_channels channels = {0};
    average_shot shots[3];
    const average_shot *all[3];
    for (int i = 0; i < 3; i++) {
        shot_table shot = {0};
        make_shot(&shot, "s", 0, i + 1, 20, 20);
        assert_int_equal(average_shot_take(&shot, 0, 10, 1, &channels, &shots[i], NULL), SHOT_OK);
        shot_table_free(&shot);
        all[i] = &shots[i];
    }
    shots[0].rows = 50;
    average_band band;
    assert_int_equal(average_band_find(all, 3, 1, 1, &band), SHOT_OK);
    assert_close(band.median[0][80], 16, 1e-12);
    assert_close(band.low[0][80], 4.9, 1e-12);
    assert_rel(band.shots[80], 2, 0);
    average_band_free(&band);
    for (int i = 0; i < 3; i++)
        average_shot_free(&shots[i]);
    average_channels_free(&channels);
}

static void bytes_do_not_depend_on_how_they_came(void **state) {
    char text[8192];
    size_t length = 0;
    for (int s = 0; s < 3; s++) {
        length += (size_t)snprintf(text + length, sizeof text - length,
                                   "# shot: q%d\ntime [s],pressure [bar],weight [g]\n", s);
        for (int i = 0; i < 20; i++)
            length += (size_t)snprintf(text + length, sizeof text - length, "%g,%g,%s\n", 0.13 * i,
                                       (double)(s * i % 7), i % 3 ? "" : "1.5");
    }
    feed whole = feed_chain("average --at start", text, length, 0);
    assert_int_equal(whole.status, SHOT_OK);
    for (size_t block = 1; block < 100; block = block * 3 + 2) {
        feed parts = feed_chain("average --at start", text, length, block);
        assert_int_equal(parts.status, SHOT_OK);
        assert_string_equal(parts.out.bytes, whole.out.bytes);
        feed_free(&parts);
    }
    feed_free(&whole);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ramps_have_the_middle_slope),
        cmocka_unit_test(holes_stay_holes),
        cmocka_unit_test(an_ended_log_stands_in_with_its_last_value),
        cmocka_unit_test(bytes_do_not_depend_on_how_they_came),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
