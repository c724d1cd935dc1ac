/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: Darcy's law against a worked bed: 58 mm basket, 15 mm deep, 9 bar.  1e-9: the digits
 * printed; viscosities by IAPWS R12-08. */
#include <support/check.h>

#include <shottrace/puck/darcy.h>

static const double AREA = 0.00264207942167, DEPTH = 0.015, HOT = 303.7189e-6, COLD = 1001.5966e-6;

static void flow_matches_the_worked_bed(void **state) {
    assert_rel(shot_darcy_flow(9e5, 1e-14, AREA, DEPTH, HOT), 5.21945671804e-6, 1e-9);
    /* printed for 1001.5966 uPa s with more digits than the viscosity has: 1e-7 */
    assert_rel(shot_darcy_flow(9e5, 1e-14, AREA, DEPTH, COLD), 1.58272068116e-6, 1e-7);
}

static void inverse_and_resistance_match_the_worked_bed(void **state) {
    const double k = shot_darcy_permeability(2e-6, 9e5, AREA, DEPTH, HOT);
    assert_rel(k, 3.83181642849e-15, 1e-9);
    assert_rel(shot_darcy_resistance(k, AREA, DEPTH, HOT), 4.5e11, 1e-12);
    assert_rel(shot_darcy_resistance(k, AREA, DEPTH, HOT) / HOT, 1.48163318121e15, 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flow_matches_the_worked_bed),
        cmocka_unit_test(inverse_and_resistance_match_the_worked_bed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
