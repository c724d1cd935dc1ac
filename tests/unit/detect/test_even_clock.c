/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: times of an even grid that were rounded become those of the grid; all others stay as
 * they were written, to the bit. */
#include <support/check.h>

#include <math.h>

#include "detect/even_clock.h"

enum { N = 300 };

typedef struct made {
    shot_channel_view view;
    double t[N], y[N];
} made;

/* Rows at 8.3 Hz from 0.37 s on, written in `step`; where `lost` is not 0 a row is missing. */
static void make(double step, int lost, made *out) {
    for (int i = 0; i < N; i++) {
        const double t = 0.37 + (i + (lost > 0 && i >= lost)) / 8.3;
        out->t[i] = step > 0 ? step * round(t / step) : t;
        out->y[i] = i;
    }
    out->view = (shot_channel_view){.t = out->t, .y = out->y, .n = N};
}

/* The error of a rounding is uniform, of SD step / sqrt(12): the line through 300 of them is off by
 * 2 step / sqrt(12 * 300) at its ends, 0.0033 s for tenths; four of these allow for its patterns.
 */
static void rounded_times_become_the_grid(void **state) {
    made log;
    for (int k = 0; k < 2; k++) {
        const double step = k == 0 ? 0.1 : 0.01;
        make(step, 0, &log);
        shot_view_even_clock(&log.view);
        for (int i = 0; i < N; i++)
            assert_close(log.t[i], 0.37 + i / 8.3, 4 * 2 * step / sqrt(12.0 * N));
    }
}

static void other_times_stay(void **state) {
    made log, before;
    for (int k = 0; k < 3; k++) {
        make(k == 0 ? 0 : 0.1, k == 1 ? 150 : 0, &log);
        if (k == 2)
            log.t[100] += 0.1; /* late, and written as it was */
        before = log;
        shot_view_even_clock(&log.view);
        for (int i = 0; i < N; i++)
            assert_true(log.t[i] == before.t[i]);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rounded_times_become_the_grid),
        cmocka_unit_test(other_times_stay),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
