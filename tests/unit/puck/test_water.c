/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: density and viscosity of water against published tables. */
#include <support/check.h>

#include <shottrace/puck/water.h>

/* Source: IAPWS SR6-08(2011) check value at 298.15 K and the values of its equation at 260 and
 * 375 K (the first outside our range); 1e-9 relative, the digits printed. */
static void viscosity_matches_the_release(void **state) {
    assert_rel(shot_water_viscosity(25), 889.996773679e-6, 1e-9);
    assert_rel(shot_water_viscosity(375 - 273.15), 276.207244905e-6, 1e-9);
}

/* Source: IAPWS-95 (Wagner & Pruss 2002, J. Phys. Chem. Ref. Data 31:387) densities and R12-08
 * (2008) viscosities at 0.1 MPa, computed with the iapws library 1.5.  Between formulations 0.005
 * kg/m3 is what Kell's equation on the right temperature scale leaves, and 0.05 % in viscosity. */
static void water_matches_the_full_formulations(void **state) {
    static const struct {
        double celsius, density, micro;
    } known[] = {
        {20, 998.206543, 1001.5966}, {25, 997.047039, 890.0227}, {60, 983.195245, 466.0348},
        {90, 965.308983, 314.1749},  {93, 963.270178, 303.7189}, {95, 961.887302, 297.0851},
        {100, 958.349052, 281.5820},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        assert_close(shot_water_density(known[i].celsius), known[i].density, 0.005);
        assert_rel(shot_water_viscosity(known[i].celsius), known[i].micro * 1e-6, 5e-4);
    }
}

/* A resistance measured cold is 3.3 times the hot one: mu(20)/mu(93) = 3.2978. */
static void cold_water_resists_three_times_as_much(void **state) {
    assert_close(shot_water_viscosity(20) / shot_water_viscosity(93), 3.2978, 0.0017);
}

static void outside_the_liquid_range_there_is_no_answer(void **state) {
    assert_true(isnan(shot_water_density(-1)) && isnan(shot_water_density(111)));
    assert_true(isnan(shot_water_viscosity(NAN)) && isnan(shot_water_viscosity(111)));
    assert_false(isnan(shot_water_density(5)) || isnan(shot_water_viscosity(100)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(viscosity_matches_the_release),
        cmocka_unit_test(water_matches_the_full_formulations),
        cmocka_unit_test(cold_water_resists_three_times_as_much),
        cmocka_unit_test(outside_the_liquid_range_there_is_no_answer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
