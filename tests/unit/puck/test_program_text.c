/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a program's text becomes its steps, and what cannot be read is said word for word. */
#include <support/check.h>

#include <shottrace/puck/program_text.h>

static void every_kind_of_step_is_read(void **state) {
    shot_recipe recipe = {0};
    const char *text = "pressure 2bar 8s; shut 500ms;drain 1s; spring 130.5psi 60s until 36g main; "
                       "flow 2..1.5ml/s 10;";
    assert_int_equal(shot_recipe_read_program(&recipe, text, NULL), SHOT_OK);
    assert_int_equal(recipe.step_count, 5);
    const shot_recipe_step *step = recipe.steps;
    assert_true(step[0].drive == SHOT_DRIVE_PRESSURE && step[0].from == 2 && step[0].to == 2);
    assert_true(step[0].seconds == 8 && !step[0].main);
    assert_true(step[1].drive == SHOT_DRIVE_SHUT && step[1].seconds == 0.5);
    assert_true(step[2].drive == SHOT_DRIVE_DRAIN && step[2].seconds == 1);
    assert_true(step[3].drive == SHOT_DRIVE_SPRING && step[3].main && step[3].until_mass == 36);
    assert_close(step[3].from, 130.5 * 0.06894757293168361, 1e-12); /* NIST SP 811 */
    assert_true(step[4].drive == SHOT_DRIVE_FLOW && step[4].from == 2 && step[4].to == 1.5);
    shot_recipe_free(&recipe);
}

static void the_first_driven_step_is_main_if_none_says_so(void **state) {
    shot_recipe recipe = {0};
    assert_int_equal(
        shot_recipe_read_program(&recipe, "shut 1s; pressure 9 20s; pressure 6 5s", NULL), SHOT_OK);
    assert_true(!recipe.steps[0].main && recipe.steps[1].main && !recipe.steps[2].main);
    assert_int_equal(shot_recipe_read_program(&recipe, " ; ", NULL), SHOT_OK);
    assert_int_equal(recipe.step_count, 0);
    shot_recipe_free(&recipe);
}

static void what_cannot_be_read_is_said(void **state) {
    static const struct {
        const char *text, *what;
    } cases[] = {
        {"pressure 9bar", "program step 'pressure 9bar': give how long it lasts (20s)"},
        {"presure 9bar 20s", "program step 'presure 9bar 20s': start with pressure, spring, flow, "
                             "shut or drain"},
        {"shut 3s;flow 9bar 2s", "program step 'flow 9bar 2s': give a figure or a range after the "
                                 "first word (9bar, 9..6bar)"},
        {"shut 3s until 2g", "program step 'shut 3s until 2g': only 'until MASS' and 'main' may "
                             "follow, where water is driven"},
        {"pressure 9 20 until", "program step 'pressure 9 20 until': give a mass after 'until' "
                                "(36g)"},
        {"pressure", "program step 'pressure': give a figure or a range after the first word "
                     "(9bar, 9..6bar)"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        shot_recipe recipe = {0};
        shot_error error = {0};
        assert_int_equal(shot_recipe_read_program(&recipe, "pressure 9 20", &error), SHOT_OK);
        assert_int_equal(shot_recipe_read_program(&recipe, cases[i].text, &error), SHOT_ERR_SYNTAX);
        assert_string_equal(error.what, cases[i].what);
        assert_int_equal(recipe.step_count, 1); /* as it was */
        shot_recipe_free(&recipe);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_of_step_is_read),
        cmocka_unit_test(the_first_driven_step_is_main_if_none_says_so),
        cmocka_unit_test(what_cannot_be_read_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
