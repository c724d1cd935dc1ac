/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: normal quantiles over all three branches of AS 241.  Values: mpmath 1.2.1 (erfinv, 40
 * digits), the two farthest SciPy 1.10.1 (ndtri).  Tolerance 4 epsilon: AS 241 states 1e-16 for
 * exact arithmetic, rounding of two seventh-degree polynomials adds a few units. */
#include <support/check.h>

#include <float.h>

#include <shottrace/signal/normal.h>

static void quantiles_match_high_precision_values(void **state) {
    static const struct {
        double p, z;
    } known[] = {
        {1e-300, -37.0470962993612},     {1e-20, -9.262340089798409},
        {1e-10, -6.3613409024040561991}, {1e-5, -4.2648907939228246102},
        {0.001, -3.0902323061678135354}, {0.025, -1.9599639845400542118},
        {0.074, -1.4466320671589785099}, {0.076, -1.4325027208258116188},
        {0.25, -0.6744897501960817432},  {0.6, 0.25334710313579974132},
        {0.975, 1.9599639845400538556},  {0.99999, 4.2648907939238407699},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        assert_rel(shot_normal_quantile(known[i].p), known[i].z, 4 * DBL_EPSILON);
}

static void limits_and_nonsense_are_answered(void **state) {
    assert_true(shot_normal_quantile(0.5) == 0);
    assert_true(isinf(shot_normal_quantile(0)) && shot_normal_quantile(0) < 0);
    assert_true(isinf(shot_normal_quantile(1)) && shot_normal_quantile(1) > 0);
    assert_true(isnan(shot_normal_quantile(-0.1)));
    assert_true(isnan(shot_normal_quantile(NAN)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantiles_match_high_precision_values),
        cmocka_unit_test(limits_and_nonsense_are_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
