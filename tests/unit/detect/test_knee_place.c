/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the interval of a knee holds its place as often as it says, for exact breaks and for
 * ramps that lag, and is the narrower the denser the samples. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>

#include "detect/knee_place.h"

enum { MOST = 400, LOGS = 200 };
static const double AT = 2.013, CHANGE = 4, SD = 0.02; /* s, bar/s, bar */

/* A stand that becomes a ramp with a lag of first order: half of the change has come log(2) lags
 * behind the start, and there the slopes before and after differ most. */
static double ramp(double t, double lag) {
    const double u = t - (AT - log(2) * lag);
    return u <= 0 ? 0 : CHANGE * (lag > 0 ? u + lag * expm1(-u / lag) : u);
}

/* How many of LOGS intervals hold the place; their mean width goes to *width. */
static int covered(double rate, double lag, double *width) {
    static double t[MOST], y[MOST];
    const size_t n = (size_t)(4 * rate);
    int hits = 0;
    *width = 0;
    for (uint64_t log = 0; log < LOGS; log++) {
        shot_random random = shot_random_at(75, log);
        for (size_t i = 0; i < n; i++) {
            t[i] = ((double)i + shot_random_uniform(&random)) / rate;
            y[i] = ramp(t[i], lag) + SD * shot_random_normal(&random);
        }
        const shot_channel_view view = {
            .t = t, .y = y, .n = n, .noise = {.sd = SD, .inflation = 1}};
        const shot_knee_hint hint = {0, 4, AT + 0.02, fmax(0.125, 2.5 / rate), 0.2};
        shot_knee_range range;
        assert_true(shot_knee_locate(&view, &hint, 0.95, &range));
        assert_true(range.low < range.at && range.at < range.high);
        hits += range.low <= AT && AT <= range.high;
        *width += (range.high - range.low) / LOGS;
    }
    return hits;
}

/* 95 % of 200 less three binomial standard errors is 181; more is allowed, since nobody tells how
 * sharp the knee is. */
static void intervals_hold_the_place(void **state) {
    const double rates[] = {100, 20, 8}, lags[] = {0, 0.03, 0.08};
    double width, narrower = 0;
    for (int r = 0; r < 3; r++) {
        for (int k = 0; k < 3; k++)
            assert_in_range(covered(rates[r], lags[k], &width), 181, LOGS);
        assert_true(width > narrower);
        narrower = width;
    }
}

static void too_few_samples_are_said(void **state) {
    double t[] = {0, 1, 2, 3, 4}, y[] = {0, 0, 0, 1, 2};
    const shot_channel_view view = {.t = t, .y = y, .n = 5, .noise = {.sd = SD, .inflation = 1}};
    const shot_knee_hint hint = {0, 4, 2, 1, 0.5};
    shot_knee_range range;
    assert_false(shot_knee_locate(&view, &hint, 0.95, &range));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(intervals_hold_the_place),
        cmocka_unit_test(too_few_samples_are_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
