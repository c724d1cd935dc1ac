/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the spring lever against a worked example: 10 N/mm, 45 mm piston, 9 bar; 1e-10, closed
 * forms. */
#include <support/check.h>

#include <shottrace/puck/spring.h>

static const double STIFFNESS = 1e4, AREA = 0.00159043128088;

static void pressure_falls_linearly_with_volume(void **state) {
    assert_rel(9e5 - shot_spring_pressure(9e5, STIFFNESS, AREA, 1e-6), 0.0395339475879e5, 1e-9);
    assert_rel(9e5 - shot_spring_pressure(9e5, STIFFNESS, AREA, 36e-6), 1.42322211317e5, 1e-10);
    assert_true(shot_spring_pressure(9e5, STIFFNESS, AREA, 1) == 0);
}

/* Over a bed of 4.5 bar s/ml: R C = 113.826224664 s, 7.54977788492 bar after 20 s. */
static void over_a_constant_bed_the_fall_is_exponential(void **state) {
    const double rc = 4.5e11 * shot_spring_compliance(STIFFNESS, AREA);
    assert_rel(rc, 113.826224664, 1e-10);
    assert_rel(9 * exp(-20 / rc), 7.54977788492, 1e-10);
    double delivered = 0, dt = 1e-3;
    for (int i = 0; i < 20000; i++) { /* midpoint rule: error of the order of (dt/RC)^2 */
        const double half = shot_spring_pressure(9e5, STIFFNESS, AREA, delivered) / 4.5e11 * dt / 2;
        delivered += shot_spring_pressure(9e5, STIFFNESS, AREA, delivered + half) / 4.5e11 * dt;
    }
    assert_rel(shot_spring_pressure(9e5, STIFFNESS, AREA, delivered), 7.54977788492e5, 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pressure_falls_linearly_with_volume),
        cmocka_unit_test(over_a_constant_bed_the_fall_is_exponential),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
