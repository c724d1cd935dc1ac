/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: orifice flow against worked values of Q = Cd (pi d^2/4) sqrt(2 dp/rho) (any text on
 * fluid mechanics; water densities by IAPWS-95).  1e-8: the digits printed. */
#include <support/check.h>

#include <shottrace/puck/orifice.h>

static const double COLD = 998.206543, HOT = 963.270178; /* kg/m3 at 20 and 93 degC */

static void flow_at_nine_bar_matches_the_table(void **state) {
    static const struct {
        double millimetres, density, ideal, sharp;
    } known[] = {
        {0.6, COLD, 12.00655539, 7.20393323},
        {0.6, HOT, 12.22234609, 7.33340765},
        {0.8, COLD, 21.34498735, 12.80699241},
        {0.8, HOT, 21.72861527, 13.03716916},
    };
    for (int i = 0; i < 4; i++) {
        const double d = known[i].millimetres * 1e-3;
        assert_rel(shot_orifice_flow(9e5, d, 1, known[i].density), known[i].ideal * 1e-6, 1e-8);
        assert_rel(shot_orifice_flow(9e5, d, 0.6, known[i].density), known[i].sharp * 1e-6, 1e-8);
    }
    assert_true(shot_orifice_flow(-9e5, 6e-4, 0.6, COLD) ==
                -shot_orifice_flow(9e5, 6e-4, 0.6, COLD));
}

static void pressure_lost_during_a_shot_matches_the_table(void **state) {
    const double small = shot_orifice_coefficient(0.6e-3, 0.6, COLD);
    const double large = shot_orifice_coefficient(0.8e-3, 0.6, COLD);
    /* bar at 1, 2, 4 ml/s; printed to 1e-6 bar */
    assert_close(small * 1e-12 * 1e-5, 0.173422, 5e-7);
    assert_close(small * 4e-12 * 1e-5, 0.693686, 5e-7);
    assert_close(small * 16e-12 * 1e-5, 2.774745, 5e-7);
    assert_close(large * 1e-12 * 1e-5, 0.054872, 5e-7);
    assert_close(large * 16e-12 * 1e-5, 0.877947, 5e-7);
    assert_rel(small / large, 256.0 / 81, 1e-12); /* the fourth power of 4/3 */
}

static void series_with_a_bed_matches_the_worked_case(void **state) {
    const double bed = 4.5e11; /* 4.5 bar s/ml */
    const double small = shot_orifice_coefficient(0.6e-3, 0.6, COLD);
    const double large = shot_orifice_coefficient(0.8e-3, 0.6, COLD);
    assert_rel(shot_orifice_series_flow(9e5, small, bed), 1.865835574e-6, 1e-9);
    assert_rel(shot_orifice_series_flow(9e5, large, bed), 1.953468350e-6, 1e-9);
    assert_rel(shot_orifice_series_flow(9e5, small, bed) * bed, 8.396260e5, 1e-7);
    assert_rel(shot_orifice_series_flow(9e5, 0, bed), 2e-6, 1e-15);
    assert_rel(shot_orifice_series_flow(9e5, small, 0), 7.20393323e-6, 1e-8);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flow_at_nine_bar_matches_the_table),
        cmocka_unit_test(pressure_lost_during_a_shot_matches_the_table),
        cmocka_unit_test(series_with_a_bed_matches_the_worked_case),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
