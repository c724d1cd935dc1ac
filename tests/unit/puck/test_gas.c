/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the air cushion against worked values (Boyle). */
#include <support/check.h>

#include <shottrace/puck/gas.h>
#include <shottrace/puck/orifice.h>

static void compression_matches_the_worked_value(void **state) {
    assert_rel(shot_gas_volume(20, 1.01325, 10.01325), 2.02381844057, 1e-11);
    const double dp = 1e-5; /* central difference: error of the order of dp^2 */
    assert_rel(shot_gas_compliance(20, 1.01325, 10.01325),
               (shot_gas_volume(20, 1.01325, 10.01325 - dp) -
                shot_gas_volume(20, 1.01325, 10.01325 + dp)) /
                   (2 * dp),
               1e-8);
}

/* 20 ml of air brought to 95 % of 9 bar through a 0.6 or 0.8 mm jet (Cd 0.6, water at 20 degC):
 * 2.8615 and 1.6096 s by quadrature, 1e-3 s stated. */
static void filling_an_air_cushion_takes_the_worked_time(void **state) {
    static const struct {
        double diameter, seconds;
    } known[] = {{0.6e-3, 2.8615}, {0.8e-3, 1.6096}};
    for (int k = 0; k < 2; k++) {
        enum { N = 20000 };
        const double top = 0.95 * 9e5, step = top / N;
        double seconds = 0;
        for (int i = 0; i < N; i++) { /* t = integral of C(p) / Q(p) dp, midpoint rule */
            const double p = (i + 0.5) * step;
            seconds += shot_gas_compliance(20e-6, 101325, p + 101325) /
                       shot_orifice_flow(9e5 - p, known[k].diameter, 0.6, 998.206543) * step;
        }
        assert_close(seconds, known[k].seconds, 1e-3);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(compression_matches_the_worked_value),
        cmocka_unit_test(filling_an_air_cushion_takes_the_worked_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
