/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the simulated shot behaves as a practitioner and a physicist expect. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/puck/brew.h>
#include <shottrace/puck/truth.h>

/* The middle of every distribution: a sensible grind in a machine of that style. */
static shot_brew *brew_middle(shot_style style, shot_recipe *recipe) {
    shot_brew *brew;
    assert_int_equal(shot_recipe_draw(style, 1, 0, 0, recipe), SHOT_OK);
    assert_int_equal(shot_brew_new(recipe, &brew), SHOT_OK);
    return brew;
}

static void finish(shot_recipe *recipe, shot_brew *brew) {
    shot_brew_free(brew);
    shot_recipe_free(recipe);
}

static double when_cup_holds(const shot_brew *brew, double mass) {
    for (size_t i = 0; i < brew->count; i++)
        if (brew->moments[i].fallen >= mass)
            return (double)i * SHOT_BREW_STEP;
    return NAN;
}

/* Common practice, no source: 18 g in, 9 bar: first drip after 5 to 9 s, 36 g after 22 to 35 s. */
static void a_sensible_grind_drips_and_runs_in_time(void **state) {
    shot_recipe recipe;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, 1, 0, 0, &recipe), SHOT_OK);
    recipe.bed.dose = 18;
    recipe.steps[0].from = recipe.steps[0].to = 9;
    recipe.steps[0].until_mass = 36;
    shot_brew *brew;
    assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
    const double drip = brew->first_drip - brew->water_in;
    const double full = when_cup_holds(brew, 36);
    assert_true(drip >= 5 && drip <= 9);
    assert_true(full >= 22 && full <= 35);
    /* 8 to 12 % strength, 16 to 22 % yield: the span of common practice around the chart of
     * Lockhart 1957 */
    assert_true(brew->tds >= 8 && brew->tds <= 12);
    assert_true(brew->yield >= 16 && brew->yield <= 22);
    finish(&recipe, brew);
}

/* Common practice, no source: a machine with a 0.6 to 0.8 mm jet comes fully up to pressure in
 * about 6 to 7 s; its pump gauge, nearly there long before, makes a small final rise. */
static void a_restricted_machine_comes_up_late_with_a_small_final_rise(void **state) {
    shot_recipe recipe;
    shot_brew *brew = brew_middle(SHOT_STYLE_RESTRICTOR, &recipe);
    shot_truth_list truth = {0};
    recipe.machine.gauge_at_puck = 0;
    assert_int_equal(shot_truth_find(&recipe, brew, &truth), SHOT_OK);
    bool final_rise = false;
    assert_true(truth.count > 0);
    for (size_t i = 0; i < truth.count; i++) {
        if (strcmp(truth.items[i].kind, "preinfusion") == 0)
            assert_true(truth.items[i].to >= 5.5 && truth.items[i].to <= 7.5);
        if (strcmp(truth.items[i].note, "final rise") == 0)
            final_rise = true;
    }
    assert_true(final_rise);
    const double before = shot_brew_at(brew, 2).pump, after = shot_brew_at(brew, 12).pump;
    assert_true(after - before >= 0.1 && after - before <= 0.6);
    assert_true(shot_brew_at(brew, 2).puck == 0); /* while the puck has no pressure at all */
    shot_truth_free(&truth);
    finish(&recipe, brew);
}

/* Mass in the cup 25 s after the start, at one brewing pressure. */
static double sweep_mass(double pressure) {
    shot_recipe recipe;
    shot_brew *brew;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, 1, 0, 0, &recipe), SHOT_OK);
    recipe.steps[0].from = recipe.steps[0].to = pressure;
    recipe.steps[0].until_mass = 0;
    assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
    const double mass = shot_brew_at(brew, 25).fallen;
    finish(&recipe, brew);
    return mass;
}

/* Common practice, no source: at fixed dose, grind and time the most liquid comes at about nine
 * bar: the best of a half-bar sweep lies from 8 to 10. */
static void a_sweep_peaks_near_nine_bar(void **state) {
    double best = 0, best_pressure = 0;
    for (double pressure = 6; pressure <= 12; pressure += 0.5) {
        const double mass = sweep_mass(pressure);
        if (mass > best) {
            best = mass;
            best_pressure = pressure;
        }
    }
    print_message("sweep: %.1f g at %.1f bar, %.1f g at 6, %.1f g at 12\n", best, best_pressure,
                  sweep_mass(6), sweep_mass(12));
    assert_true(best_pressure >= 8 && best_pressure <= 10);
}

/* Common practice, no source: roughly 8 to 10 % of the puck is washed out of the grains before
 * full pressure in a long pre-wetting; a band half as wide again is asked of the model. */
static void a_long_soak_washes_a_tenth_out_before_pressure(void **state) {
    shot_recipe recipe;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_SOAK, 1, 0, 0, &recipe), SHOT_OK);
    recipe.steps[0].seconds = 5;
    recipe.steps[1] = (shot_recipe_step){.drive = SHOT_DRIVE_SHUT, .seconds = 20};
    recipe.tail = 0;
    shot_brew *brew;
    assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
    const double share = brew->dissolved / recipe.bed.dose;
    print_message("washed out in a soak of 20 s: %.1f %% of the dose\n", 100 * share);
    assert_true(share >= 0.07 && share <= 0.115);
    finish(&recipe, brew);
}

/* Water and solubles: what came in is somewhere.  1e-6 ml and g asked; rounding leaves 1e-10. */
static void balances_close_for_every_style(void **state) {
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t index = 0; index < 20; index++) {
            shot_recipe recipe;
            shot_brew *brew;
            assert_int_equal(shot_recipe_draw((shot_style)style, 3, index, 1, &recipe), SHOT_OK);
            assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
            assert_close(brew->water_error, 0, 1e-6);
            assert_close(brew->solubles_error, 0, 1e-6);
            finish(&recipe, brew);
        }
}

/* Pressure lowered on purpose: flow falls at once, then rises again as the bed relaxes. */
static void a_bed_relaxes_when_pressure_is_lowered(void **state) {
    shot_recipe recipe;
    shot_brew *brew = brew_middle(SHOT_STYLE_STEP, &recipe);
    double low = 0;
    for (size_t i = 1; i < brew->count && low == 0; i++)
        if (brew->moments[i].wanted_pressure < brew->moments[i - 1].wanted_pressure - 0.01)
            low = (double)i * SHOT_BREW_STEP + recipe.steps[2].seconds;
    assert_true(low > 0);
    assert_true(shot_brew_at(brew, low + 3).resistance < shot_brew_at(brew, low).resistance);
    assert_true(shot_brew_at(brew, low + 3).through > shot_brew_at(brew, low + 0.3).through);
    finish(&recipe, brew);
}

/* Resistance may fall as solids leave, and may rise as fines settle. */
static void resistance_can_fall_and_can_rise(void **state) {
    shot_recipe recipe;
    shot_brew *brew;
    for (int rising = 0; rising < 2; rising++) {
        assert_int_equal(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, 1, 0, 0, &recipe), SHOT_OK);
        recipe.bed.washout = rising ? 0 : 0.5;
        recipe.bed.fines = rising ? 0.8 : 0;
        assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
        const double start = shot_brew_at(brew, brew->first_drip + 3).resistance;
        const double end = shot_brew_at(brew, brew->pump_off - 1).resistance;
        assert_true(rising ? end > 1.05 * start : end < 0.95 * start);
        finish(&recipe, brew);
    }
}

/* A channel of 20 % at 18 s: the resistance just before and when it is open say so, and so does
 * the mark.  1 % of the value: the bed itself changes a little in half a second. */
static void a_channel_takes_the_stated_share_of_resistance(void **state) {
    shot_recipe recipe;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, 1, 0, 0, &recipe), SHOT_OK);
    recipe.bed.roughness = 0;
    const shot_recipe_channel channel = {
        .at = 18, .size = 0.2, .seconds = 0.5, .sharpness = 1, .heal = 4, .scar = 0.1};
    assert_int_equal(shot_recipe_add_channel(&recipe, channel), SHOT_OK);
    shot_brew *brew;
    assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
    const double from = brew->channels[0].from, to = brew->channels[0].to;
    assert_close(from, 18, 1e-9);
    assert_close(to, 18.5, 1e-9);
    const double lost = 1 - shot_brew_at(brew, to).resistance / shot_brew_at(brew, from).resistance;
    assert_close(lost, 0.2, 0.01);
    assert_close(brew->channels[0].value, 0.2, 0.005);
    const double healed = shot_brew_at(brew, brew->pump_off).resistance;
    assert_true(healed > shot_brew_at(brew, to).resistance);
    shot_truth_list truth = {0};
    assert_int_equal(shot_truth_find(&recipe, brew, &truth), SHOT_OK);
    int surges = 0;
    for (size_t i = 0; i < truth.count; i++)
        surges += strcmp(truth.items[i].kind, "surge") == 0;
    assert_int_equal(surges, 1);
    shot_truth_free(&truth);
    finish(&recipe, brew);
}

/* A spring lever loses pressure in proportion to what it delivered: a straight line of pressure
 * against water, with the slope of the recipe.  1e-3: the pressure is set from the volume at the
 * start of each step, 0.1 % of what is delivered meanwhile. */
static void a_spring_falls_linearly_with_volume(void **state) {
    shot_recipe recipe;
    shot_brew *brew = brew_middle(SHOT_STYLE_SPRING, &recipe);
    const shot_moment a = shot_brew_at(brew, brew->main_rise + 8);
    const shot_moment b = shot_brew_at(brew, brew->pump_off - 1);
    const double slope = (a.wanted_pressure - b.wanted_pressure) / (b.water - a.water);
    assert_rel(slope, recipe.machine.spring_rate, 1e-3);
    assert_true(b.puck < a.puck - 0.5);
    finish(&recipe, brew);
}

static void the_same_recipe_gives_the_same_bytes(void **state) {
    for (int style = 0; style < SHOT_STYLE_COUNT; style++) {
        shot_recipe a, b;
        shot_brew *x, *y;
        assert_int_equal(shot_recipe_draw((shot_style)style, 9, 4, 1, &a), SHOT_OK);
        assert_int_equal(shot_recipe_draw((shot_style)style, 9, 4, 1, &b), SHOT_OK);
        assert_int_equal(shot_brew_new(&a, &x), SHOT_OK);
        assert_int_equal(shot_brew_new(&b, &y), SHOT_OK);
        assert_int_equal(x->count, y->count);
        assert_memory_equal(x->moments, y->moments, x->count * sizeof *x->moments);
        finish(&a, x);
        finish(&b, y);
    }
}

static void impossible_recipes_are_refused_with_a_sentence(void **state) {
    shot_recipe recipe;
    shot_brew *brew;
    shot_error error = {0};
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_LINE, 1, 0, 0, &recipe), SHOT_OK);
    recipe.bed.dose = -1;
    assert_int_equal(shot_recipe_check(&recipe, &error), SHOT_ERR_RANGE);
    assert_string_equal(error.what, "dose is -1; it must lie from 0.1 to 1000");
    assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_ERR_RANGE);
    assert_null(brew);
    shot_recipe_free(&recipe);
    assert_int_equal(shot_recipe_draw((shot_style)99, 1, 0, 0, &recipe), SHOT_ERR_RANGE);
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_LINE, 1, 0, 2, &recipe), SHOT_ERR_RANGE);
}

/* The viscosity of water is known from 0 to 110 degC: a dip below that would be read from nowhere.
 */
static void the_first_water_is_no_ice(void **state) {
    shot_recipe recipe;
    shot_error error = {0};
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_LINE, 1, 0, 0, &recipe), SHOT_OK);
    recipe.machine.water = 20;
    recipe.machine.dip = 20;
    assert_int_equal(shot_recipe_check(&recipe, &error), SHOT_OK);
    recipe.machine.dip = 20.5;
    assert_int_equal(shot_recipe_check(&recipe, &error), SHOT_ERR_RANGE);
    assert_string_equal(error.what,
                        "temperature of the first water is -0.5; it must lie from 0 to 109");
    shot_recipe_free(&recipe);
}

/* A program that never drives water is a shot without events, not a failure. */
static void a_shot_without_water_has_no_events(void **state) {
    shot_recipe recipe;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, 1, 0, 0, &recipe), SHOT_OK);
    recipe.step_count = 0;
    shot_brew *brew;
    assert_int_equal(shot_brew_new(&recipe, &brew), SHOT_OK);
    assert_true(isnan(brew->water_in) && isnan(brew->first_drip) && isnan(brew->pump_off));
    shot_truth_list truth = {0};
    assert_int_equal(shot_truth_find(&recipe, brew, &truth), SHOT_OK);
    assert_int_equal(truth.count, 0);
    shot_truth_free(&truth);
    finish(&recipe, brew);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sensible_grind_drips_and_runs_in_time),
        cmocka_unit_test(a_restricted_machine_comes_up_late_with_a_small_final_rise),
        cmocka_unit_test(a_sweep_peaks_near_nine_bar),
        cmocka_unit_test(a_long_soak_washes_a_tenth_out_before_pressure),
        cmocka_unit_test(balances_close_for_every_style),
        cmocka_unit_test(a_bed_relaxes_when_pressure_is_lowered),
        cmocka_unit_test(resistance_can_fall_and_can_rise),
        cmocka_unit_test(a_channel_takes_the_stated_share_of_resistance),
        cmocka_unit_test(a_spring_falls_linearly_with_volume),
        cmocka_unit_test(the_same_recipe_gives_the_same_bytes),
        cmocka_unit_test(impossible_recipes_are_refused_with_a_sentence),
        cmocka_unit_test(the_first_water_is_no_ice),
        cmocka_unit_test(a_shot_without_water_has_no_events),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
