/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what all samples say of an opening is the same by the forms of the tails as sample by
 * sample to the end of the log, for a meter and a scale, whatever the shape and what comes after;
 * and so is what two openings have in common. */
#include <support/check.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/conductance_answer.h"

enum { SAMPLES = 400, LANES = CONDUCTANCE_LANES };

/* Uneven rows, a pressure that goes up and down, and figures that are noise. */
typedef struct meter_log {
    conductance_data data;
    double t[SAMPLES], y[SAMPLES], pressure[SAMPLES], rate[SAMPLES], age[SAMPLES], taken[SAMPLES];
    conductance_step *steps;
    conductance_gains gains;
    conductance_filter filter;
    double added[SAMPLES * LANES], other[SAMPLES * LANES];
} meter_log;

static meter_log *meter_log_new(bool summed, int lane) {
    meter_log *self = calloc(1, sizeof *self);
    shot_random random = shot_random_at(3, summed);
    assert_non_null(self);
    for (int i = 0; i < SAMPLES; i++) {
        self->t[i] = 0.05 * i + 0.01 * sin(3.0 * i);
        self->pressure[i] = 6 + 2 * sin(0.03 * i);
        self->rate[i] = 1.2 * cos(0.03 * i);
        self->age[i] = 2 + self->t[i];
        self->y[i] = (summed ? 2 * self->t[i] : 2) + 0.1 * shot_random_normal(&random);
    }
    self->data = (conductance_data){.t = self->t,
                                    .y = self->y,
                                    .pressure = self->pressure,
                                    .rate = self->rate,
                                    .age = self->age,
                                    .taken = self->taken,
                                    .n = SAMPLES,
                                    .summed = summed,
                                    .drains = summed,
                                    .sd = 0.1,
                                    .middle = 0.3};
    self->steps = conductance_steps_new(&self->data);
    assert_non_null(self->steps);
    assert_int_equal(conductance_gains_new(&self->data, self->steps,
                                           (conductance_wander){0.008, 0.003}, &self->gains),
                     SHOT_OK);
    assert_int_equal(conductance_filter_new(&self->data, &self->filter), SHOT_OK);
    conductance_filter_run(&self->data, self->steps, &self->gains, lane, &self->filter);
    return self;
}

static void meter_log_free(meter_log *self) {
    conductance_filter_free(&self->filter);
    conductance_gains_free(&self->gains);
    free(self->steps);
    free(self);
}

static conductance_answer answer_of(meter_log *self, const conductance_opening *openings,
                                    double *room) {
    conductance_answer out = {
        .data = &self->data, .steps = self->steps, .filter = &self->filter, .added = room};
    conductance_answer_find(openings, LANES, &out);
    return out;
}

/* A lane for each of what may come after. */
static void fill(double onset, conductance_form form, conductance_opening out[LANES]) {
    for (int k = 0; k < LANES; k++)
        out[k] = (conductance_opening){.onset = onset,
                                       .seconds = 0.3 + 0.4 * k,
                                       .form = form,
                                       .scar = k == 0   ? 1
                                               : k == 1 ? 0.5
                                                        : 0,
                                       .healing = k % CONDUCTANCE_HEALINGS,
                                       .drain = 0.4,
                                       .gate = k == 2 ? 0.5 : 0,
                                       .loss = 0.2};
}

/* Both ways round in other places: sums of 400 products. */
static const double rounding = 1e-9;

static void compare(meter_log *self, double onset, conductance_form form) {
    conductance_opening openings[LANES];
    conductance_response by_sample;
    fill(onset, form, openings);
    const conductance_answer answer = answer_of(self, openings, self->other);
    for (int k = 0; k < LANES; k++) {
        const size_t first =
            conductance_add(&self->data, self->steps, &openings[k], 1, self->added);
        conductance_respond(&self->data, self->steps, &self->gains, self->added, first, &by_sample);
        const int lane = self->filter.lane;
        assert_close(answer.sum.square[k] / by_sample.square[lane], 1, rounding);
        assert_close(answer.sum.along[k], by_sample.along[lane],
                     rounding * sqrt(by_sample.square[lane]));
    }
}

/* Also of an opening of which the log shows its beginning only. */
static void the_tails_hold_all_that_follows(void **state) {
    for (int summed = 0; summed <= 1; summed++)
        for (int lane = 0; lane < LANES; lane++) {
            meter_log *self = meter_log_new(summed, lane);
            for (int form = CONDUCTANCE_EVEN; form <= CONDUCTANCE_LATE; form++)
                for (int i = 0; i < 3; i++)
                    compare(self, (double[]){0.7, 9, 18.4}[i], (conductance_form)form);
            meter_log_free(self);
        }
}

static void and_what_two_openings_have_in_common(void **state) {
    for (int summed = 0; summed <= 1; summed++) {
        meter_log *self = meter_log_new(summed, 1);
        conductance_opening early[LANES], late[LANES];
        fill(8, CONDUCTANCE_EVEN, early);
        fill(8.3, CONDUCTANCE_EVEN, late);
        conductance_answer a = answer_of(self, early, self->added);
        conductance_answer b = answer_of(self, late, self->other);
        double common[LANES];
        conductance_answer_go_on(b.end, &a);
        for (int k = 0; k < LANES; k++)
            common[k] = conductance_answer_common(&b, &a, k);
        conductance_answer_go_on(SAMPLES, &a);
        conductance_answer_go_on(SAMPLES, &b);
        for (int k = 0; k < LANES; k++) {
            double sum = 0;
            for (size_t i = b.first; i < SAMPLES; i++)
                sum += self->added[i * LANES + (size_t)k] * self->other[i * LANES + (size_t)k] *
                       self->gains.weight[i * LANES + 1];
            assert_close(common[k] / sum, 1, rounding);
        }
        meter_log_free(self);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_tails_hold_all_that_follows),
        cmocka_unit_test(and_what_two_openings_have_in_common),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
