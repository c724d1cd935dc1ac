/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: Kozeny-Carman and Ergun against worked examples; 1e-9, the digits printed (1e-7 where
 * the water density or viscosity is printed to 7 digits only). */
#include <support/check.h>

#include <shottrace/puck/packed_bed.h>

static void permeability_matches_the_table(void **state) {
    static const struct {
        double micrometres, porosity, carman, blake;
    } known[] = {
        {100, 0.4, 9.87654320988e-12, 1.18518518519e-11},
        {100, 0.2, 6.94444444444e-13, 8.33333333333e-13},
        {30, 0.2, 6.25e-14, 7.5e-14},
        {20, 0.3, 1.22448979592e-13, 1.46938775510e-13},
    };
    for (int i = 0; i < 4; i++) {
        const double d = known[i].micrometres * 1e-6, e = known[i].porosity;
        assert_rel(shot_packed_bed_permeability(d, e, SHOT_KOZENY_CARMAN), known[i].carman, 1e-9);
        assert_rel(shot_packed_bed_permeability(d, e, SHOT_BLAKE_KOZENY), known[i].blake, 1e-9);
    }
}

static void ergun_matches_the_worked_bed(void **state) {
    const shot_ergun bed = shot_packed_bed_ergun(1e-3, 0.4, 0.01, 1001.5966e-6, 998.206543);
    assert_rel(bed.viscous, 8450.9713125, 1e-7);
    assert_rel(bed.inertial, 1637.68260961, 1e-7);
    assert_rel(bed.reynolds, 16.6102557823, 1e-7);
}

/* At a shot's flow inertia is a third of a percent: a flow that grows like the square root of the
 * pressure is not explained by it. */
static void inertia_is_negligible_in_a_puck(void **state) {
    const double area = 0.00264207942167;
    const shot_ergun bed = shot_packed_bed_ergun(100e-6, 0.2, 2e-6 / area, 303.7189e-6, 963.270178);
    assert_close(bed.inertial / (bed.inertial + bed.viscous), 0.00349, 5e-6);
    assert_close(bed.reynolds, 0.3001, 5e-5);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(permeability_matches_the_table),
        cmocka_unit_test(ergun_matches_the_worked_bed),
        cmocka_unit_test(inertia_is_negligible_in_a_puck),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
