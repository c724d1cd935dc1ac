/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels beside points. */
#include <support/check.h>

#include "plot/labels.h"

static bool apart(const plot_box *a, const plot_box *b) {
    return a->left >= b->right || b->left >= a->right || a->top >= b->bottom || b->top >= a->bottom;
}

/* Protects: labels of a crowd of points cover neither each other nor a point, and stay inside. */
static void labels_cover_nothing(void **state) {
    enum { POINTS = 60 };
    const plot_box bounds = {0, 0, 400, 300};
    plot_labels labels = {0};
    plot_box places[POINTS], points[POINTS];
    size_t placed = 0;
    for (int i = 0; i < POINTS; i++) {
        const double x = 200 + 150 * sin(0.7 * i), y = 150 + 120 * cos(1.1 * i);
        points[i] = (plot_box){x - 3, y - 3, x + 3, y + 3};
        assert_int_equal(plot_labels_keep_free(&labels, x, y, 3), SHOT_OK);
    }
    for (int i = 0; i < POINTS; i++) {
        bool found;
        assert_int_equal(
            plot_labels_place(&labels, &bounds,
                              &(plot_label){points[i].left + 3, points[i].top + 3, 28, 11},
                              &places[placed], &found),
            SHOT_OK);
        placed += found;
    }
    assert_true(placed > POINTS / 2); /* 60 labels cover a seventh of the page */
    for (size_t i = 0; i < placed; i++) {
        assert_true(places[i].left >= 0 && places[i].right <= 400);
        assert_true(places[i].top >= 0 && places[i].bottom <= 300);
        for (size_t k = 0; k < i; k++)
            assert_true(apart(&places[i], &places[k]));
        for (size_t k = 0; k < POINTS; k++)
            assert_true(apart(&places[i], &points[k]));
    }
    plot_labels_free(&labels);
}

/* Protects: where there is no room there is no label. */
static void no_room_no_label(void **state) {
    const plot_box bounds = {0, 0, 20, 20};
    plot_labels labels = {0};
    plot_box place;
    bool found = true;
    assert_int_equal(
        plot_labels_place(&labels, &bounds, &(plot_label){10, 10, 28, 11}, &place, &found),
        SHOT_OK);
    assert_false(found);
    plot_labels_free(&labels);
}

/* Protects: labels leave a line alone while there is another place, and cover it sooner than that
 * a time goes unsaid. */
static void lines_are_left_alone(void **state) {
    const plot_box page = {0, 0, 200, 200}, strip = {0, 90, 200, 110};
    plot_labels labels = {0};
    plot_box place;
    bool found;
    for (int x = 0; x <= 200; x += 4) /* rises through the first choice, up and to the right */
        assert_int_equal(plot_labels_keep_free(&labels, x, 200 - x, 2), SHOT_OK);
    plot_labels_harden(&labels);
    assert_int_equal(
        plot_labels_place(&labels, &page, &(plot_label){100, 100, 28, 11}, &place, &found),
        SHOT_OK);
    assert_true(found);
    for (size_t i = 0; i < labels.soft; i++)
        assert_true(apart(&place, &labels.taken[i]));
    for (int x = 0; x <= 200; x += 4) /* and now there is no room beside it */
        for (int y = 80; y <= 120; y += 4)
            assert_int_equal(plot_labels_keep_free(&labels, x, y, 2), SHOT_OK);
    plot_labels_harden(&labels);
    assert_int_equal(
        plot_labels_place(&labels, &strip, &(plot_label){50, 100, 28, 11}, &place, &found),
        SHOT_OK);
    assert_true(found);
    plot_labels_free(&labels);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(labels_cover_nothing),
        cmocka_unit_test(no_room_no_label),
        cmocka_unit_test(lines_are_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
