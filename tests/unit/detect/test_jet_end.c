/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: of a jet that ends before all of the gate that its meter seems to have lies in it, no
 * sample is looked for outside the log, and nothing is told that is far off. */
#include <support/check.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/jet_end.h"

enum { RATE = 1000, SAMPLES = 7 * RATE };

/* The pump gives 9 bar from 1 s on, the meter shows nothing for a moment, as if it told the mean of
 * a second, and 0.6 s later the puck holds the water back, all but at once. */
static double jet_of(double t) {
    const double left = t < 1.67 ? 1 : 0.2 + 0.8 * exp((1.67 - t) / 0.04);
    return t < 1.05 ? 0 : left * sqrt(9 / 0.12);
}

/* Of these four, two were looked for outside the log. */
static void a_jet_may_end_within_the_gate(void **state) {
    for (uint64_t seed = 23; seed < 27; seed++) {
        shot_random random = shot_random_at(9, seed);
        double *t = malloc(SAMPLES * sizeof *t), *p = malloc(SAMPLES * sizeof *p),
               *q = malloc(SAMPLES * sizeof *q);
        for (int i = 0; i < SAMPLES; i++) {
            t[i] = (double)i / RATE;
            p[i] = 9 * fmin(1, fmax(0, (t[i] - 1) / 0.02)) + 0.06 * shot_random_normal(&random);
            q[i] = jet_of(t[i]) + 0.2 * shot_random_normal(&random);
        }
        const shot_noise noise = {.sd = 0.06, .spacing = 1.0 / RATE, .inflation = 1};
        const shot_channel_view pressure = {.t = t, .y = p, .n = SAMPLES, .noise = noise};
        shot_channel_view flow = {.t = t, .y = q, .n = SAMPLES, .noise = noise};
        flow.noise.sd = 0.2;
        shot_instant got;
        assert_int_equal(shot_jet_end(&pressure, &flow, 0.95, &got), SHOT_OK);
        assert_true(isnan(got.at) || fabs(got.at - 1.67) < 0.5);
        free(t);
        free(p);
        free(q);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_jet_may_end_within_the_gate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
