/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what an opening adds to a meter that counts over a gate is the mean over the gate of
 * what it adds to one that does not, while it opens, at its end, and while it heals; and what
 * openings of several onsets add is what each adds alone. */
#include <support/check.h>

#include <stdlib.h>

#include "detect/conductance.h"

enum { SAMPLES = 2001, LANES = CONDUCTANCE_LANES };
static const double spacing = 0.01; /* s */

typedef struct meter {
    conductance_data data;
    double t[SAMPLES], pressure[SAMPLES], age[SAMPLES];
    conductance_step *steps;
    double alone[SAMPLES * LANES], added[SAMPLES * LANES];
} meter;

/* At held pressure, unless it falls. */
static meter *meter_new(double fall) {
    meter *self = calloc(1, sizeof *self);
    assert_non_null(self);
    for (int i = 0; i < SAMPLES; i++) {
        self->t[i] = i * spacing;
        self->pressure[i] = 9 - fall * self->t[i];
        self->age[i] = 5 + self->t[i];
    }
    self->data = (conductance_data){
        .t = self->t, .pressure = self->pressure, .age = self->age, .n = SAMPLES};
    self->steps = conductance_steps_new(&self->data);
    assert_non_null(self->steps);
    return self;
}

static void meter_free(meter *self) {
    free(self->steps);
    free(self);
}

/* By trapezoids, which are off by the square of the spacing / 12 times the change of the slope over
 * the gate (Euler and Maclaurin; the corners of S lie on samples): of 9 bar * 3 / 0.5 s at most,
 * over 0.5 s, that is 9e-4. */
static void compare_with_mean(meter *self, conductance_opening opening) {
    const double gate = opening.gate;
    const size_t rows = (size_t)(gate / spacing + 0.5);
    conductance_add(&self->data, self->steps, &opening, 1, self->added);
    opening.gate = 0;
    conductance_add(&self->data, self->steps, &opening, 1, self->alone);
    for (size_t i = rows; i < SAMPLES; i++) {
        double sum = 0;
        for (size_t k = 0; k <= rows; k++)
            sum += self->alone[(i - k) * LANES] * (k == 0 || k == rows ? 0.5 : 1);
        assert_close(self->added[i * LANES], sum / (double)rows, 1e-3);
    }
}

static void a_gate_shows_the_mean(void **state) {
    meter *self = meter_new(0);
    for (int form = CONDUCTANCE_EVEN; form <= CONDUCTANCE_LATE; form++)
        for (int healing = 0; healing < CONDUCTANCE_HEALINGS; healing++)
            for (int scar = 0; scar <= 2; scar++)
                for (int gate = 1; gate <= 2; gate++)
                    compare_with_mean(self, (conductance_opening){.onset = 2,
                                                                  .seconds = 0.5,
                                                                  .form = (conductance_form)form,
                                                                  .scar = scar / 2.0,
                                                                  .healing = healing,
                                                                  .gate = gate / 2.0,
                                                                  .loss = 0.2});
    meter_free(self);
}

static void onsets_do_not_disturb_each_other(void **state) {
    meter *self = meter_new(0.2);
    conductance_opening openings[LANES];
    for (int k = 0; k < LANES; k++)
        openings[k] = (conductance_opening){.onset = 3 - 0.5 * k + (k == 3 ? 17 : 0),
                                            .seconds = 0.3 + 0.1 * k,
                                            .scar = 0.25 * k,
                                            .gate = k == 1 ? 0.5 : 0};
    const size_t first = conductance_add(&self->data, self->steps, openings, LANES, self->added);
    assert_int_equal(first, conductance_first_seen(&self->data, &openings[2]));
    for (int k = 0; k < LANES; k++) {
        const size_t from = conductance_add(&self->data, self->steps, &openings[k], 1, self->alone);
        for (size_t i = first; i < SAMPLES; i++)
            assert_true(self->added[i * LANES + k] == (i < from ? 0 : self->alone[i * LANES]));
    }
    meter_free(self);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gate_shows_the_mean),
        cmocka_unit_test(onsets_do_not_disturb_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
