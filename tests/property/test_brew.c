/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: whatever recipe passes the check brews: all figures stay finite, no pressure falls
 * below nothing, mass in the cup never shrinks, water and solubles are conserved. */
#include <support/check.h>

#include <shottrace/puck/synth.h>
#include <shottrace/signal/portable.h>
#include <shottrace/signal/random.h>

static double anywhere(shot_random *random, double low, double high) {
    const double span = shot_portable_log(high / low);
    return low * shot_portable_exp(span * shot_random_uniform(random));
}

/* Far outside any kitchen, inside what shot_recipe_check allows. */
static void distort(shot_random *random, shot_recipe *recipe) {
    shot_bed_recipe *bed = &recipe->bed;
    shot_machine_recipe *machine = &recipe->machine;
    bed->dose = anywhere(random, 0.1, 300);
    bed->permeability = anywhere(random, 1e-19, 1e-9);
    bed->uptake = anywhere(random, 0.01, 10);
    bed->swelling = anywhere(random, 1e-3, 50);
    bed->swelling_time = anywhere(random, 0.05, 1e3);
    bed->peak_pressure = anywhere(random, 0.1, 100);
    bed->stiffening = 1 + anywhere(random, 0.01, 9);
    bed->compaction_time = anywhere(random, 0.02, 100);
    bed->relaxation_time = anywhere(random, 0.02, 100);
    bed->washout = anywhere(random, 0.01, 0.95);
    bed->fines = anywhere(random, 0.01, 100);
    bed->suction = anywhere(random, 1e-4, 5);
    bed->screen = anywhere(random, 0.001, 100);
    machine->regulation = anywhere(random, 0.1, 1e4);
    machine->response = anywhere(random, 0.02, 10);
    machine->damping = anywhere(random, 0.3, 3);
    machine->jet = shot_random_chance(random, 0.3) ? 0 : anywhere(random, 0.05, 20);
    machine->headspace = shot_random_chance(random, 0.2) ? 0 : anywhere(random, 0.01, 500);
    machine->air = shot_random_chance(random, 0.2) ? 0 : anywhere(random, 0.01, 500);
    machine->elastic = anywhere(random, 0.001, 10);
    machine->drain = shot_random_chance(random, 0.2) ? 0 : anywhere(random, 0.05, 20);
    machine->leak = anywhere(random, 1e-4, 50);
    machine->wander = anywhere(random, 1e-3, 2);
    recipe->cup.film = anywhere(random, 1e-3, 50);
    recipe->cup.spout_time = anywhere(random, 0.02, 50);
    recipe->solubles.fast_rate = anywhere(random, 1e-3, 20);
}

static void check_moments(const shot_brew *brew) {
    double fallen = 0;
    for (size_t i = 0; i < brew->count; i++) {
        const shot_moment *m = &brew->moments[i];
        assert_true(isfinite(m->puck) && m->puck >= 0 && m->puck < 1000);
        assert_true(isfinite(m->pump) && isfinite(m->flow) && m->flow >= 0);
        assert_true(isfinite(m->resistance) && m->resistance > 0);
        assert_true(isfinite(m->spout) && isfinite(m->temperature) && isfinite(m->ripple));
        assert_true(m->fallen >= fallen);
        fallen = m->fallen;
    }
}

static void any_recipe_that_passes_brews(void **state) {
    int brewed = 0;
    for (uint64_t index = 0; index < 300; index++) {
        shot_random random = shot_random_at(71, index);
        shot_recipe recipe;
        shot_logger logger;
        shot_synth *shot;
        assert_int_equal(
            shot_recipe_draw((shot_style)(index % SHOT_STYLE_COUNT), 71, index, 1, &recipe),
            SHOT_OK);
        assert_int_equal(shot_logger_draw(SHOT_GRADE_HARSH, 71, index, 1, &logger), SHOT_OK);
        distort(&random, &recipe);
        shot_error error = {0};
        if (shot_recipe_check(&recipe, &error) != SHOT_OK)
            fail_msg("%s", error.what);
        assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_OK);
        const shot_brew *brew = shot->brew;
        const double water = brew->moments[brew->count - 1].water;
        check_moments(brew);
        assert_close(brew->water_error, 0, 1e-6 + 1e-10 * water);
        assert_close(brew->solubles_error, 0, 1e-6);
        brewed++;
        shot_synth_free(shot);
    }
    assert_int_equal(brewed, 300);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_recipe_that_passes_brews),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
