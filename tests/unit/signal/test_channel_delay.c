/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a delay between channels of some 33,000 holes is found in the longest
 * stretch that both have. */
#include <support/check.h>

#include <stdlib.h>

#include "signal/channel_delay.h"

enum { N = 400000, HOLE_EVERY = 12, PRESENT = 5, WHOLE = 3000 };

static const double step = 0.01, late = 0.25;

static double shape(double t) {
    return sin(0.9 * t) + sin(2.1 * t + 1) + 0.5 * sin(0.13 * t * t);
}

static void many_holes_leave_the_longest_stretch(void **state) {
    double *t = malloc(3 * N * sizeof *t), *a = t + N, *b = a + N;
    channel_delay found;
    assert_non_null(t);
    for (size_t i = 0; i < N; i++) {
        t[i] = step * (double)i;
        a[i] = shape(t[i]);
        b[i] = i % HOLE_EVERY < PRESENT || i >= N - WHOLE ? shape(t[i] - late) : NAN;
    }
    assert_int_equal(channel_delay_find(t, a, b, N, 3, &found), SHOT_OK);
    assert_close(found.delay, late, 0.1 * step);
    assert_true(found.from >= t[N - WHOLE - HOLE_EVERY]);
    free(t);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(many_holes_leave_the_longest_stretch),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
