/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: advice follows from figures, speaks only where their whole interval is beyond the
 * threshold, is no surer than they are, never turns the grind both ways, is at most as long as
 * asked, and a usual shot gets none. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/judge/advice.h>

typedef struct figure {
    const char *name;
    double value, low, high;
} figure;

static void add_figures(shot_measure_list *list, const figure *figures, size_t count) {
    for (size_t i = 0; i < count; i++)
        assert_int_equal(shot_measure_list_add(list, figures[i].name, figures[i].value,
                                               figures[i].low, figures[i].high, NULL),
                         SHOT_OK);
}

/* The advice on surges and on a flow that rises, with the shape of the brew's pressure. */
static shot_text advice_on_shape(const char *shape, const figure *figures, size_t count) {
    shot_measure_list list = {0};
    shot_text text = {0};
    assert_int_equal(shot_measure_list_add(&list, "brew.pressure.slope", -0.01, -0.02, 0, shape),
                     SHOT_OK);
    add_figures(&list, figures, count);
    assert_int_equal(shot_advice_write(&list, 1, &text), SHOT_OK);
    shot_measure_list_free(&list);
    return text;
}

static shot_text advice_on(const figure *figures, size_t count, size_t most) {
    shot_measure_list list = {0};
    shot_text text = {0};
    add_figures(&list, figures, count);
    shot_text_add(&text, "");
    assert_int_equal(shot_advice_write(&list, most, &text), SHOT_OK);
    shot_measure_list_free(&list);
    return text;
}

/* What is said of a shot, and what is not (NULL: whatever it be). */
static void expect_said(const figure *figures, size_t count, const char *said, const char *unsaid) {
    shot_text text = advice_on(figures, count, 3);
    assert_non_null(strstr(text.bytes, said));
    if (unsaid != NULL)
        assert_null(strstr(text.bytes, unsaid));
    shot_text_free(&text);
}

/* Silence could mean that all is well, or that nothing was seen: the page says which. */
static void a_usual_shot_gets_none_and_is_told_so(void **state) {
    const figure usual[] = {{"preinfusion.time", 6.5, 6.4, 6.6}, {"brew.time", 22, NAN, NAN},
                            {"first-drip.time", 7, 6.8, 7.2},    {"brew.outflow", 1.7, 1.6, 1.8},
                            {"surge.count", 0, NAN, NAN},        {"pulse.count", 0, NAN, NAN}};
    shot_text text = advice_on(usual, 6, 3);
    assert_string_equal(text.bytes,
                        "Nothing stands out in: flow, channels, pulses, first drop, pre-wetting. "
                        "Could not be judged: rise of the flow, steadiness of the pressure (not "
                        "known). Let taste decide.\n");
    shot_text_free(&text);
    const figure open[] = {{"preinfusion.time", 6.5, 2.3, 16},
                           {"first-drip.time", 7, 4, 12},
                           {"brew.outflow", 1.7, 0.3, 3.1}};
    text = advice_on(open, 3, 3); /* on either side of a threshold: nothing is known */
    assert_string_equal(text.bytes, "Could not be judged: channels, rise of the flow, pulses, "
                                    "steadiness of the pressure (not known); flow, first drop, "
                                    "pre-wetting (near a limit, or in doubt).\n");
    shot_text_free(&text);
    text = advice_on(usual, 0, 3);
    assert_string_equal(text.bytes, "Could not be judged: flow, channels, rise of the flow, "
                                    "pulses, first drop, pre-wetting, steadiness of the pressure "
                                    "(not known).\n");
    shot_text_free(&text);
    text = advice_on(usual, 6, 0);
    assert_string_equal(text.bytes, "");
    shot_text_free(&text);
}

/* A loss found in the flow alone is told with its condition, and no remedy is built on it. */
static void it_is_no_surer_than_the_finding(void **state) {
    shot_measure_list list = {0};
    shot_text text = {0};
    shot_measure_list_add(&list, "surge.count", 1, NAN, NAN, NULL);
    shot_measure_list_add(&list, "surge.first", 17, NAN, NAN, NULL);
    shot_measure_list_add(&list, "surge.loss", 24, NAN, NAN, "pressure is not known");
    assert_int_equal(shot_advice_write(&list, 3, &text), SHOT_OK);
    assert_string_equal(text.bytes,
                        "If the pressure was held, the puck channelled 17.0 s after the "
                        "water came, and lost 24 % of its resistance: a log with the pressure "
                        "tells the two apart.\n");
    shot_measure_list_free(&list);
    shot_text_free(&text);
}

/* Fast before the channel opened: the grind was too coarse.  Fast only by the channel: that is the
 * cause.  A channel and early drops: the channel decides the grind; where it ran fast, and not too
 * fast, before it opened, a coarser grind would be told to go finer by the next page, so neither.
 */
static void the_grind_is_not_turned_both_ways(void **state) {
    const figure fast[] = {{"brew.outflow", 7.1, 6.4, 7.8},
                           {"surge.count", 1, NAN, NAN},
                           {"surge.loss", 16, NAN, NAN}};
    const figure opened[] = {{"brew.outflow", 2.2, 2.1, 2.3},
                             {"surge.count", 1, NAN, NAN},
                             {"surge.loss", 16, NAN, NAN},
                             {"first-drip.time", 3, 2.8, 3.2}};
    const figure brisk[] = {{"brew.outflow", 3, 2.9, 3.1},
                            {"surge.count", 1, NAN, NAN},
                            {"surge.loss", 16, NAN, NAN},
                            {"first-drip.time", 3, 2.8, 3.2}};
    shot_text text = advice_on(fast, 3, 3);
    assert_non_null(strstr(text.bytes, "grind finer"));
    assert_non_null(strstr(text.bytes, "a more even bed helps"));
    assert_null(strstr(text.bytes, "coarser"));
    shot_text_free(&text);
    text = advice_on(opened, 4, 3);
    assert_non_null(strstr(text.bytes, "slightly coarser grind"));
    assert_non_null(strstr(text.bytes, "wet the puck more slowly"));
    assert_null(strstr(text.bytes, "finer"));
    shot_text_free(&text);
    text = advice_on(brisk, 4, 3);
    assert_non_null(strstr(text.bytes, "The puck channelled"));
    assert_null(strstr(text.bytes, "coarser"));
    assert_null(strstr(text.bytes, "finer"));
    shot_text_free(&text);
}

static void has_words(shot_text text, const char *words) {
    if (strstr(text.bytes, words) == NULL)
        fail_msg("'%s' is not in: %s", words, text.bytes);
    shot_text_free(&text);
}

/* A profile that falls already is not told to do what it does. */
static void a_fall_that_is_there_is_told_of(void **state) {
    const figure surge[] = {{"surge.count", 1, NAN, NAN}, {"surge.first", 17, 16.8, 17.2}};
    const figure late[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 17, 16.8, 17.2},
                           {"brew.pressure.step", -3, NAN, NAN},
                           {"brew.pressure.step-time", 21.4, NAN, NAN}};
    const figure bent[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 17, 16.8, 17.2},
                           {"brew.pressure.bend", -3, NAN, NAN},
                           {"brew.pressure.bend-time", 12.2, NAN, NAN}};
    const figure at_once[] = {{"surge.count", 1, NAN, NAN},
                              {"surge.first", 17, 16.8, 17.2},
                              {"brew.pressure.step", -1, NAN, NAN},
                              {"brew.pressure.step-time", 17.5, NAN, NAN}};
    has_words(advice_on_shape("held", surge, 2), "let the pressure fall from just before");
    has_words(advice_on_shape("stepped down", at_once, 4), "fell as it opened");
    has_words(advice_on_shape("stepped down", late, 4),
              "let the fall of the pressure, now 21 s after the water, begin before");
    has_words(advice_on_shape("held, then falling evenly", bent, 4), "falling by then");
    has_words(advice_on_shape("falling evenly", surge, 2), "falling by then");
    has_words(advice_on_shape("falling slightly", surge, 2), "falling by then");
    has_words(advice_on_shape("falling evenly, then held", bent, 4), "had fallen before");
}

/* Only the puck's own doing, and only where the whole interval is beyond the threshold. */
static void a_flow_that_rises_by_itself_is_eased(void **state) {
    figure rise[] = {{"brew.time", 20, NAN, NAN},
                     {"brew.flow", 2, 1.9, 2.1},
                     {"brew.flow.slope", 0.07, 0.06, 0.08},
                     {"surge.count", 0, NAN, NAN}};
    has_words(advice_on_shape("held", rise, 4), "rose by 1.4 ml/s in the brew, about a mean of 2,");
    has_words(advice_on_shape("rising evenly", rise, 4), "Nothing stands out");
    has_words(advice_on_shape("falling evenly", rise, 4), "Nothing stands out");
    rise[3].value = 1;
    has_words(advice_on_shape("held", rise, 4), "The puck channelled");
    rise[3].value = 0;
    rise[2].low = 0.04;
    has_words(advice_on_shape("held", rise, 4), "Nothing stands out");
}

/* A blind basket lets nothing through, for as long as a cleaning takes or in pulses. */
static void a_blind_basket_is_told_soon(void **state) {
    const figure once[] = {{"shot.time", 10, 9.9, 10.1},
                           {"brew.time", 8.5, 8.4, 8.6},
                           {"brew.flow", 0.1, 0, 0.3},
                           {"brew.outflow", -0.004, -0.004, 0.01},
                           {"beverage.mass", 0, 0, 0.06}};
    const figure pulsed[] = {{"shot.time", 45, 44.9, 45.1}, {"brew.time", 3.6, 3.4, 3.7},
                             {"brew.flow", 0.1, 0, 0.6},    {"brew.outflow", -0.002, -0.002, 0.03},
                             {"beverage.mass", 0, 0, 0.06}, {"pulse.count", 4, NAN, NAN},
                             {"pulse.lowest", 0, NAN, NAN}};
    expect_said(once, 5, "a blind basket", NULL);
    expect_said(pulsed, 7, "a blind basket", "Between pulses");
}

/* A gauge before a restrictor shows pressure without a puck too. */
static void an_empty_basket_behind_a_restrictor_is_told(void **state) {
    figure empty[] = {{"water.used", 92.9, 92.8, 93},
                      {"beverage.mass", 89, 88.9, 89.1},
                      {"first-drip.time", 0.3, 0, 0.9},
                      {"brew.outflow", 6.5, 6.4, 6.6}};
    expect_said(empty, 4, "no coffee in the basket", "grind");
    empty[0] = (figure){"water.used", 110, 109, 111}; /* a puck that gushes keeps some */
    expect_said(empty, 4, "grind finer", "no coffee");
    empty[0] = (figure){"water.used", 0, 0, 0.1}; /* a meter that missed it */
    expect_said(empty, 4, "grind finer", "no coffee");
}

/* More water than puck and basket hold went elsewhere; a scale that was off tells nothing of it. */
static void water_that_came_nowhere_is_told(void **state) {
    const figure leaking[] = {{"water.used", 124, 123, 125},
                              {"beverage.mass", 39, 38.9, 39.1},
                              {"brew.outflow", 1.7, 1.6, 1.8}};
    const figure usual[] = {
        {"water.used", 106, 105, 107}, {"beverage.mass", 44, 43.9, 44.1}, {"dose", 19, NAN, NAN}};
    const figure silent[] = {{"water.used", 124, 123, 125}, {"beverage.mass", 39, NAN, NAN}};
    expect_said(leaking, 3, "85 ml came into no cup", NULL);
    expect_said(usual, 3, "Could not be judged", "into no cup");
    expect_said(silent, 2, "Could not be judged", "into no cup");
}

/* Where nothing flows the late drop has its cause already. */
static void a_choked_shot_is_not_told_to_wet_longer(void **state) {
    const figure choked[] = {{"preinfusion.time", 0.6, 0, 1.7},
                             {"brew.time", 43, NAN, NAN},
                             {"first-drip.time", 37, 35, 39},
                             {"brew.outflow", 0.036, 0.033, 0.040}};
    shot_text text = advice_on(choked, 4, 3);
    assert_string_equal(text.bytes, "Hardly anything flowed (0.036 g/s in the brew): grind "
                                    "coarser, or dose less.\n");
    shot_text_free(&text);
}

/* A puck that hardly lets water through, or that was wetted for long and still was dry, is not
 * cured by wetting it for longer.  One that ran as usual after a short pre-wetting is. */
static void a_tight_puck_is_not_told_to_wet_longer(void **state) {
    const figure tight[] = {{"preinfusion.time", 3.1, 3, 3.2},
                            {"brew.time", 50, NAN, NAN},
                            {"first-drip.time", 17, 16.8, 17.2},
                            {"brew.outflow", 0.65, 0.63, 0.67}};
    const figure wetted[] = {{"preinfusion.time", 12, 11.9, 12.1},
                             {"first-drip.time", 15, 14.8, 15.2},
                             {"brew.outflow", 1.5, 1.4, 1.6}};
    const figure usual[] = {{"preinfusion.time", 3.1, 3, 3.2},
                            {"first-drip.time", 7, 6.8, 7.2},
                            {"brew.outflow", 1.5, 1.4, 1.6}};
    expect_said(tight, 4, "a slightly coarser grind would wet it through sooner", "pre-wetting");
    expect_said(wetted, 3, "a slightly coarser grind would wet it through sooner", "pre-wetting");
    expect_said(usual, 3, "a longer pre-wetting at 1 to 3 bar", "coarser");
}

/* What cannot be told from nothing may be a blind basket; where the meter says that water ran, the
 * scale lacks its cup, and the meter is what is judged. */
static void nothing_in_the_cup_has_its_reasons(void **state) {
    const figure blind[] = {{"brew.time", 19, NAN, NAN},
                            {"brew.flow", 0, 0, 0.005},
                            {"brew.outflow", 0, 0, 0.01},
                            {"beverage.mass", 0, 0, 0.5}};
    const figure ran[] = {{"brew.time", 19, NAN, NAN},
                          {"brew.flow", 4.1, 4, 4.2},
                          {"brew.outflow", 0, 0, 0.01},
                          {"beverage.mass", 0, 0, 0.5}};
    expect_said(blind, 4, "a blind basket", NULL);
    expect_said(blind, 4, "coarser grind", NULL);
    expect_said(ran, 4, "see whether the cup stood on it", "coarser");
    expect_said(ran, 4, "It ran very fast (4.1 ml/s in the brew)", NULL);
    const figure stopped[] = {{"brew.time", 2, NAN, NAN},
                              {"brew.flow", 2.6, 2.4, 2.8},
                              {"beverage.mass", 0, 0, 0.5},
                              {"shot.time", 5.1, 5, 5.2}};
    expect_said(stopped, 4, "stopped 5.1 s after the water came", "whether the cup stood");
    const figure gushed[] = {ran[0], ran[1], ran[2], ran[3], {"shot.time", 12, 11.9, 12.1}};
    expect_said(gushed, 5, "whether the cup stood", "stopped");
}

/* Water through an empty basket is no shot that dripped early; with a gauge that shows a brew, or
 * with none, it is one. */
static void water_without_a_puck_turns_no_grind(void **state) {
    const figure empty[] = {{"first-drip.time", 2.9, 1.7, 3.1},
                            {"pressure.peak", 0.32, NAN, NAN},
                            {"stream.outflow", 7.8, NAN, NAN},
                            {"beverage.mass", 156, 155.9, 156.1}};
    const figure brewed = {"brew.time", 20, NAN, NAN};
    figure shot[4];
    memcpy(shot, empty, sizeof shot);
    expect_said(shot, 4, "no coffee in the basket", "finer");
    shot[2] = brewed;
    shot_text text = advice_on(shot, 4, 3);
    assert_int_equal(strncmp(text.bytes, "The first drop came after", 25), 0);
    shot_text_free(&text);
    shot[1] = shot[2] = shot[3];
    text = advice_on(shot, 1, 3);
    assert_int_equal(strncmp(text.bytes, "The first drop came after", 25), 0);
    shot_text_free(&text);
}

static void a_channel_is_named_with_its_figures(void **state) {
    const figure shot[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 19.36, NAN, NAN},
                           {"surge.loss", 23.4, NAN, NAN}};
    expect_said(shot, 3, "19.4 s after the water came", NULL);
    expect_said(shot, 3, "lost 23 % of its resistance", NULL);
}

/* A size that the log hardly knows is told with how far it may be off. */
static void a_size_comes_with_its_interval(void **state) {
    const figure shot[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 12, 11.8, 12.2},
                           {"surge.loss", 42, 11, 74},
                           {"shot.time", 27, NAN, NAN}};
    expect_said(shot, 4, "lost 42 % (11 to 74) of its resistance: let the", NULL);
}

/* What opens in the last tenth of a shot touches little of the cup: no reason to turn the grind. */
static void a_late_channel_turns_no_grind(void **state) {
    const figure shot[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 25.5, NAN, NAN},
                           {"surge.loss", 20, NAN, NAN},
                           {"shot.time", 27, NAN, NAN}};
    expect_said(shot, 4, "at the very end of the shot: stop a little sooner", "grind");
}

/* A channel of the pre-wetting was not opened by the pressure of the brew. */
static void a_channel_before_the_brew_is_wetted_more_gently(void **state) {
    const figure shot[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 15.9, 15.5, 16.3},
                           {"preinfusion.time", 17.2, 17, 17.4}};
    shot_text text = advice_on(shot, 3, 1);
    assert_string_equal(text.bytes,
                        "The puck channelled 15.9 s after the water came, before the brew: wet it "
                        "more gently, with less pressure or flow, and make the bed more even.\n");
    shot_text_free(&text);
}

/* Early drops of a shot that then ran as usual come from how it was wetted, not from the grind. */
static void early_drops_turn_the_grind_only_of_a_fast_shot(void **state) {
    const figure usual[] = {{"first-drip.time", 3, 2.8, 3.2}, {"brew.outflow", 1.9, 1.8, 2}};
    const figure fast[] = {{"first-drip.time", 3, 2.8, 3.2}, {"brew.outflow", 3, 2.9, 3.1}};
    expect_said(usual, 2, "wet the puck more slowly", "finer");
    expect_said(fast, 2, "grind finer", NULL);
}

/* A gauge a little off its zero shows less than nothing. */
static void no_pressure_is_called_nothing(void **state) {
    const figure shot[] = {{"pulse.count", 4, NAN, NAN}, {"pulse.lowest", -0.03, NAN, NAN}};
    expect_said(shot, 2, "went down to nothing and", NULL);
}

/* A time that is known to a second or worse has no tenths, here as in the first lines of a page. */
static void a_time_is_as_sure_as_it_is_known(void **state) {
    const figure shot[] = {{"surge.count", 1, NAN, NAN},
                           {"surge.first", 18.74, 18.1, 19.3},
                           {"first-drip.time", 9.2, 8.5, 10},
                           {"preinfusion.time", 6.3, 6.2, 6.4}};
    expect_said(shot, 4, "channelled 19 s after the water came", NULL);
    expect_said(shot, 4, "its full pressure 3 s before", NULL);
}

static void noise_does_not_move_it(void **state) {
    const figure sure[] = {{"first-drip.time", 3, 2.8, 3.2}};
    const figure unsure[] = {{"first-drip.time", 3, 1, 5}};
    expect_said(sure, 1, "The first drop came after 3.0 s", NULL);
    shot_text text = advice_on(unsure, 1, 3);
    assert_int_equal(strncmp(text.bytes, "Could not be judged: flow, ", 27), 0);
    shot_text_free(&text);
}

static void the_weightiest_come_first_and_no_more_than_asked(void **state) {
    const figure shot[] = {{"brew.outflow", 0.2, 0.1, 0.3},  {"brew.time", 40, NAN, NAN},
                           {"surge.count", 1, NAN, NAN},     {"surge.first", 20, NAN, NAN},
                           {"surge.loss", 10, NAN, NAN},     {"pulse.count", 4, NAN, NAN},
                           {"pulse.lowest", 0.2, NAN, NAN},  {"first-drip.time", 30, 29, 31},
                           {"preinfusion.time", 6, 5.9, 6.1}};
    shot_text text = advice_on(shot, 9, 2);
    assert_true(strncmp(text.bytes, "Hardly anything flowed", 22) == 0);
    const char *second = strchr(text.bytes, '\n') + 1;
    assert_true(strncmp(second, "The puck channelled", 19) == 0);
    assert_string_equal(strchr(second, '\n'), "\n");
    shot_text_free(&text);
}

/* The page of the docs says every rule and its source. */
static void the_docs_have_every_rule(void **state) {
    static char page[32 * 1024];
    FILE *file = fopen(SHOT_FIXTURES "/../docs/report.md", "r");
    assert_non_null(file);
    page[fread(page, 1, sizeof page - 1, file)] = '\0';
    fclose(file);
    size_t count;
    const shot_advice_rule *rules = shot_advice_rules(&count);
    for (size_t i = 0; i < count; i++) {
        if (strstr(page, rules[i].name) == NULL)
            print_error("docs/report.md lacks the rule '%s'\n", rules[i].name);
        assert_non_null(strstr(page, rules[i].name));
        assert_non_null(rules[i].source);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_usual_shot_gets_none_and_is_told_so),
        cmocka_unit_test(it_is_no_surer_than_the_finding),
        cmocka_unit_test(the_grind_is_not_turned_both_ways),
        cmocka_unit_test(a_fall_that_is_there_is_told_of),
        cmocka_unit_test(a_flow_that_rises_by_itself_is_eased),
        cmocka_unit_test(a_blind_basket_is_told_soon),
        cmocka_unit_test(an_empty_basket_behind_a_restrictor_is_told),
        cmocka_unit_test(water_that_came_nowhere_is_told),
        cmocka_unit_test(a_choked_shot_is_not_told_to_wet_longer),
        cmocka_unit_test(a_tight_puck_is_not_told_to_wet_longer),
        cmocka_unit_test(nothing_in_the_cup_has_its_reasons),
        cmocka_unit_test(water_without_a_puck_turns_no_grind),
        cmocka_unit_test(a_channel_is_named_with_its_figures),
        cmocka_unit_test(a_size_comes_with_its_interval),
        cmocka_unit_test(a_late_channel_turns_no_grind),
        cmocka_unit_test(a_channel_before_the_brew_is_wetted_more_gently),
        cmocka_unit_test(early_drops_turn_the_grind_only_of_a_fast_shot),
        cmocka_unit_test(no_pressure_is_called_nothing),
        cmocka_unit_test(a_time_is_as_sure_as_it_is_known),
        cmocka_unit_test(noise_does_not_move_it),
        cmocka_unit_test(the_weightiest_come_first_and_no_more_than_asked),
        cmocka_unit_test(the_docs_have_every_rule),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
