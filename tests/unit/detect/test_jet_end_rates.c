/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the instant at which a puck first holds back a jet is found with an interval that holds
 * it, whatever the meter's gate; and no jet is seen where there is none. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>

#include "detect/jet_end.h"

enum { MOST = 2000, LOGS = 60 };

static const double AT = 5.31; /* s */

/* The physics by small steps: a pump of 9 bar that yields 0.05 bar for each ml/s, behind it a jet
 * that loses 0.12 bar at 1 ml/s, a room with 0.15 ml/bar of give that is full at AT but for some ml
 * of air, and a bed of 3 bar.s/ml, or one that drinks: 0.8 bar.s/ml and a tenth of that more with
 * each ml that it has. */
typedef struct rig {
    double flow[MOST], pressure[MOST]; /* each 10 ms */
} rig;

static void run_rig(rig *self, double lost, double air, bool drinks) {
    double puck = 0, drunk = 0;
    for (int i = 0; i < MOST; i++) {
        const double t = i * 0.01, held = 9 * -expm1(-t / 0.4), left = fmax(0, held - puck);
        const double q = (-0.05 + sqrt(0.05 * 0.05 + 4 * lost * left)) / (2 * lost);
        self->flow[i] = q;
        self->pressure[i] = held - 0.05 * q;
        if (t < AT)
            continue;
        const double into_bed = puck / (drinks ? 0.8 + 0.08 * drunk : 3);
        puck += 0.01 * (q - into_bed) / (0.15 + 1.013 * air / pow(1.013 + puck, 2));
        drunk += 0.01 * into_bed;
    }
}

static double over_gate(const rig *self, int i, int gate) {
    double sum = 0;
    for (int k = 0; k <= gate; k++)
        sum += i >= k ? self->flow[i - k] : 0;
    return sum / (gate + 1);
}

typedef struct log_of_rig {
    double t[MOST], p[MOST], q[MOST];
    shot_channel_view pressure, flow;
} log_of_rig;

static void read_rig(const rig *self, double rate, int gate, uint64_t seed, log_of_rig *out) {
    shot_random random = shot_random_at(81, seed);
    size_t n = 0;
    for (; (double)n / rate < 18; n++) {
        const double t = ((double)n + 0.8 * shot_random_uniform(&random)) / rate;
        const int i = (int)(t / 0.01);
        out->t[n] = t;
        out->p[n] = self->pressure[i] + 0.06 * shot_random_normal(&random);
        out->q[n] = over_gate(self, i, gate) + 0.12 * shot_random_normal(&random);
    }
    const shot_noise noise = {.sd = 0.06, .spacing = 1 / rate, .inflation = 1};
    out->pressure = (shot_channel_view){.t = out->t, .y = out->p, .n = n, .noise = noise};
    out->flow = (shot_channel_view){.t = out->t, .y = out->q, .n = n, .noise = noise};
    out->flow.noise.sd = 0.12;
}

/* 95 % of 60 less three binomial standard errors is 52; half a second is what a knee may be off. */
static void count(const rig *self, double rate, int gate) {
    static log_of_rig log;
    int hits = 0, near = 0;
    for (uint64_t seed = 0; seed < LOGS; seed++) {
        shot_instant got;
        read_rig(self, rate, gate, seed, &log);
        assert_int_equal(shot_jet_end(&log.pressure, &log.flow, 0.95, &got), SHOT_OK);
        hits += got.low <= AT && AT <= got.high;
        near += fabs(got.at - AT) < 0.5;
    }
    print_message("%g Hz, gate %d0 ms: %d near, %d held\n", rate, gate, near, hits);
    assert_in_range(near, 52, LOGS);
    assert_in_range(hits, 52, LOGS);
}

static void the_instant_is_found(void **state) {
    static rig self;
    const double rates[] = {40, 10, 4};
    const int gates[] = {0, 30, 70}; /* 10 ms each */
    run_rig(&self, 0.12, 0, false);
    for (int r = 0; r < 3; r++)
        for (int g = 0; g < 3; g++)
            count(&self, rates[r], gates[g]);
}

/* Air gives way until it is pressed together: the flow falls gently at first, and it goes on
 * falling while the bed drinks. */
static void a_gentle_start_is_found(void **state) {
    static rig self;
    const double airs[] = {2, 5}, rates[] = {40, 10}; /* ml; Hz */
    for (int a = 0; a < 2; a++) {
        run_rig(&self, 0.12, airs[a], true);
        for (int r = 0; r < 2; r++)
            count(&self, rates[r], 0);
    }
}

/* Without a restrictor the pressure stands at nothing until the room is full. */
static void no_jet_is_no_end(void **state) {
    static rig self;
    static log_of_rig log;
    for (int i = 0; i < MOST; i++) {
        const double t = i * 0.01, full = t > AT ? -expm1(-(t - AT) / 0.3) : 0;
        self.pressure[i] = 9 * full;
        self.flow[i] = 8 - 6 * full;
    }
    for (uint64_t seed = 0; seed < LOGS; seed++) {
        shot_instant got;
        read_rig(&self, 10, 0, seed, &log);
        assert_int_equal(shot_jet_end(&log.pressure, &log.flow, 0.95, &got), SHOT_OK);
        assert_true(isnan(got.at) && isnan(got.low) && isnan(got.high));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_instant_is_found),
        cmocka_unit_test(a_gentle_start_is_found),
        cmocka_unit_test(no_jet_is_no_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
