/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: two ends of one rounded knee become one in their middle, with both changes; what is
 * sharp, small beside the other, of the other sign, or as far apart as places may be known stays.
 */
#include <support/feed.h>

#include "detect/knee_ends.h"

enum { N = 200 };
static double times[N]; /* every hundredth of a second */

static int start(void **state) {
    for (int i = 0; i < N; i++)
        times[i] = 0.01 * i;
    return 0;
}

static shot_knee_place place_at(size_t at, double change) {
    return (shot_knee_place){.at = at, .reach = 0.2, .change = change, .se = 0.1, .scale = 0.3};
}

static size_t left_of(shot_knee_place a, shot_knee_place b) {
    shot_knee_place both[] = {a, b};
    return knee_ends_unite(times, both, 2);
}

static void ends_become_one(void **state) {
    shot_knee_place both[] = {place_at(50, 2), place_at(80, 1)};
    assert_int_equal(knee_ends_unite(times, both, 2), 1);
    assert_int_equal(both[0].at, 60); /* the centre of the change */
    assert_close(both[0].change, 3, 1e-12);
    assert_close(both[0].se, hypot(0.1, 0.1), 1e-12);
    assert_close(both[0].reach, 0.3, 1e-12);
    assert_close(both[0].scale, 0.5, 1e-12);
}

/* 0.49 s apart: with changes of ten standard errors that is known to 0.016 s only, with a hundred
 * to a tenth of it. */
static void places_may_be_too_far_apart(void **state) {
    shot_knee_place a = place_at(50, 1), b = place_at(99, 1);
    assert_int_equal(left_of(a, b), 2);
    a.se = b.se = 0.01;
    assert_int_equal(left_of(a, b), 1);
    assert_int_equal(left_of(place_at(50, 1), place_at(101, 1)), 2);
}

static void others_stay(void **state) {
    shot_knee_place sharp = place_at(50, 2);
    sharp.scale = 0.2;
    assert_int_equal(left_of(sharp, place_at(80, 2)), 2);
    assert_int_equal(left_of(place_at(50, 2), place_at(80, -2)), 2);
    assert_int_equal(left_of(place_at(50, 2), place_at(80, 0.9)), 2);
    assert_int_equal(knee_ends_unite(times, &sharp, 1), 1);
    assert_int_equal(knee_ends_unite(times, NULL, 0), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ends_become_one),
        cmocka_unit_test(places_may_be_too_far_apart),
        cmocka_unit_test(others_stay),
    };
    return cmocka_run_group_tests(tests, start, NULL);
}
