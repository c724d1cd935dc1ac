/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <stdlib.h>

#include "plot/curve.h"

static const plot_pen pen = {PLOT_LINE, 1, PLOT_SOLID};

static plot_axis axis(double low, double high, double from, double to) {
    return (plot_axis){.low = low, .high = high, .from = from, .to = to, .step = 1, .unit = 1};
}

/* Protects: an hour at 100 Hz on 800 pixels keeps every pixel column's first, lowest, highest and
 * last sample, a spike of one sample included, and little else. */
static void extremes_of_every_pixel_are_kept(void **state) {
    enum { N = 360000, WIDTH = 800 };
    double *time = malloc(N * sizeof *time), *value = malloc(N * sizeof *value);
    double least[WIDTH], most[WIDTH];
    for (size_t c = 0; c < WIDTH; c++) {
        least[c] = INFINITY;
        most[c] = -INFINITY;
    }
    plot_axis x = axis(0, N / 100.0, 0, WIDTH), y = axis(-10, 10, 100, 0);
    for (size_t i = 0; i < N; i++) {
        time[i] = (double)i / 100;
        value[i] = sin((double)i * 0.37) + (i == 123457 ? 8 : 0);
        size_t c = (size_t)plot_axis_place(&x, time[i]);
        double place = plot_axis_place(&y, value[i]);
        least[c] = fmin(least[c], place);
        most[c] = fmax(most[c], place);
    }
    plot_scene scene = {0};
    plot_series series = {time, value, N, 0};
    plot_curve_line(&scene, &x, &y, &series, pen, 1);
    assert_int_equal(scene.count, 1);
    assert_true(scene.shapes[0].count <= 4 * WIDTH);
    for (size_t i = 0; i < scene.shapes[0].count; i++) {
        size_t c = (size_t)scene.points[2 * i];
        least[c] = scene.points[2 * i + 1] == least[c] ? -1 : least[c]; /* seen */
        most[c] = scene.points[2 * i + 1] == most[c] ? -1 : most[c];
    }
    for (size_t c = 0; c < WIDTH; c++) {
        assert_close(least[c], -1, 0);
        assert_close(most[c], -1, 0);
    }
    plot_scene_free(&scene);
    free(time);
    free(value);
}

/* Protects: samples of a slow channel among fast rows are joined; a real gap breaks the line. */
static void missing_is_bridged_and_a_gap_is_not(void **state) {
    const double time[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 40, 41, 42};
    const double value[] = {1, NAN, 2, NAN, 3, NAN, 4, NAN, 5, 6, NAN, 7};
    plot_axis x = axis(0, 50, 0, 500), y = axis(0, 10, 100, 0);
    plot_series series = {time, value, 12, 0};
    plot_scene scene = {0};
    assert_close(plot_curve_gap(&series), 10, 1e-12); /* five times 2 s */
    plot_curve_line(&scene, &x, &y, &series, pen, 1);
    assert_int_equal(scene.count, 2);
    assert_int_equal(scene.shapes[0].count, 5);
    assert_int_equal(scene.shapes[1].count, 2);
    plot_scene_free(&scene);
}

/* Protects: one sample is a dot at its place; none is nothing. */
static void a_lone_sample_is_a_dot(void **state) {
    const double time[] = {2, 3}, value[] = {5, NAN}, none[] = {NAN, NAN};
    plot_axis x = axis(0, 10, 0, 100), y = axis(0, 10, 100, 0);
    plot_series one = {time, value, 2, 0}, nothing = {time, none, 2, 0};
    plot_scene scene = {0};
    plot_curve_line(&scene, &x, &y, &one, pen, 1);
    assert_int_equal(scene.count, 1);
    assert_int_equal(scene.shapes[0].kind, PLOT_DOT);
    assert_close(scene.shapes[0].x, 20, 1e-12);
    assert_close(scene.shapes[0].y, 50, 1e-12);
    plot_curve_line(&scene, &x, &y, &nothing, pen, 1);
    plot_curve_band(&scene, &x, &y, &nothing, none, none, PLOT_BAND, 1);
    assert_int_equal(scene.count, 1);
    plot_scene_free(&scene);
}

/* Protects: what lies beyond the axis is not drawn as if it lay on its edge. */
static void values_beyond_the_axis_are_not_drawn(void **state) {
    const double time[] = {0, 1, 2, 3, 4, 5}, value[] = {5, 50, 60, 70, 5, 5};
    plot_axis x = axis(0, 10, 0, 100), y = axis(0, 10, 100, 0);
    plot_series series = {time, value, 6, 0};
    plot_scene scene = {0};
    plot_curve_line(&scene, &x, &y, &series, pen, 1);
    assert_int_equal(scene.count, 2); /* to the edge, and from it; nothing along it */
    assert_int_equal(scene.shapes[0].count, 2);
    assert_int_equal(scene.shapes[1].count, 3);
    plot_scene_free(&scene);
}

/* Protects: the outline of a band goes along its upper edge and comes back along the lower one. */
static void a_band_is_closed(void **state) {
    const double time[] = {0, 5, 10}, low[] = {1, 2, 3}, high[] = {4, 5, 6};
    const double expected[] = {0, 60, 50, 50, 100, 40, 100, 70, 50, 80, 0, 90};
    plot_axis x = axis(0, 10, 0, 100), y = axis(0, 10, 100, 0);
    plot_series series = {time, low, 3, 0};
    plot_scene scene = {0};
    plot_curve_band(&scene, &x, &y, &series, low, high, PLOT_BAND, 1);
    assert_int_equal(scene.count, 1);
    assert_int_equal(scene.shapes[0].count, 6);
    for (size_t i = 0; i < 12; i++)
        assert_close(scene.points[i], expected[i], 1e-9);
    plot_scene_free(&scene);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(extremes_of_every_pixel_are_kept),
        cmocka_unit_test(missing_is_bridged_and_a_gap_is_not),
        cmocka_unit_test(a_lone_sample_is_a_dot),
        cmocka_unit_test(values_beyond_the_axis_are_not_drawn),
        cmocka_unit_test(a_band_is_closed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
