/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a sudden loss of resistance is found, with its size and within its interval, whether
 * pressure or flow is held and whether a flow meter or a scale shows it; and what is no surge is
 * none. */
#include <support/surge_shot.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>
#include <support/turns.h>

/* 20 % at 10 Hz and noise of 0.05 ml/s on 2.5: the gain of 25 % is some twenty times its standard
 * error over 1.5 s on either side, so the size is known to about a tenth and the onset to a few
 * samples; a scale does not tell how long the basket took to drain, up to a second. */
static void expect_surge(const plan *p) {
    feed got = surges(p, "surges");
    const char *line = final_line(got.out.bytes, "surge", 0);
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    assert_close(mark_number(line, "from"), 18, p->meter ? 0.5 : 1);
    assert_close(mark_number(line, "value"), 100 * p->loss, 3);
    assert_true(mark_number(line, "from.low") <= mark_number(line, "from"));
    if (p->blind) { /* nothing tells whether pressure was held */
        assert_true(isnan(mark_number(line, "value.low")));
    } else {
        assert_true(mark_number(line, "value.low") <= 100 * p->loss);
        assert_true(mark_number(line, "value.high") >= 100 * p->loss);
    }
    feed_free(&got);
}

static void expect_none(const plan *p) {
    feed got = surges(p, "surges");
    assert_int_equal(final_count(got.out.bytes, "surge"), 0);
    feed_free(&got);
}

static void found_at_held_pressure(void **state) {
    expect_surge(&(plan){.loss = 0.2, .meter = true, .rate = 10, .noise = 0.05, .seed = 1});
    expect_surge(&(plan){.loss = 0.2, .meter = true, .rate = 100, .noise = 0.1, .seed = 2});
    expect_surge(
        &(plan){.loss = 0.35, .meter = true, .scale = true, .rate = 5, .noise = 0.05, .seed = 3});
}

static void found_at_held_flow(void **state) {
    expect_surge(&(plan){
        .loss = 0.25, .flow_held = true, .meter = true, .rate = 10, .noise = 0.05, .seed = 4});
}

/* A pump that holds the flow lets the pressure fall, and no flow rises: from 6.95 bar in the
 * second before to 5.15 in the one behind; 0.2 bar are what two samples of its course make. */
static void its_note_tells_how_it_showed(void **state) {
    plan p = {.loss = 0.25, .meter = true, .rate = 10, .noise = 0.05, .seed = 4};
    feed got = surges(&p, "surges");
    assert_non_null(strstr(final_line(got.out.bytes, "surge", 0), "flow rose by "));
    feed_free(&got);
    p.flow_held = true;
    got = surges(&p, "surges");
    const char *fall = strstr(final_line(got.out.bytes, "surge", 0), "pressure fell by ");
    assert_non_null(fall);
    assert_close(strtod(fall + strlen("pressure fell by "), NULL), 1.8, 0.2);
    assert_null(strstr(got.out.bytes, "flow rose by "));
    feed_free(&got);
}

static void found_by_the_scale_alone(void **state) {
    expect_surge(&(plan){.loss = 0.25, .scale = true, .rate = 10, .seed = 5});
}

/* Flow that jumps tells where pressure is not known, and the mark says what it cannot tell. */
static void found_without_pressure(void **state) {
    plan p = {.loss = 0.3, .meter = true, .blind = true, .rate = 10, .noise = 0.05, .seed = 12};
    expect_surge(&p);
    feed got = surges(&p, "surges");
    assert_non_null(strstr(final_line(got.out.bytes, "surge", 0), "pressure is not known"));
    feed_free(&got);
    expect_surge(&(plan){.loss = 0.3, .scale = true, .blind = true, .rate = 10, .seed = 13});
    expect_none(&(plan){.meter = true, .blind = true, .rate = 10, .noise = 0.05, .seed = 14});
}

/* From 9 to 21 bar flow more than doubles, as it does from pre-wetting to brewing. */
static void flow_that_doubles_without_pressure_is_none(void **state) {
    expect_none(
        &(plan){.raised = 12, .meter = true, .blind = true, .rate = 10, .noise = 0.05, .seed = 15});
}

/* From 9 to 17.6 bar it may have doubled, as far as a noisy meter tells. */
static void flow_that_may_have_doubled_without_pressure_is_none(void **state) {
    for (uint64_t seed = 71; seed < 71 + turns(3); seed++)
        expect_none(&(plan){
            .raised = 8.6, .meter = true, .blind = true, .rate = 10, .noise = 0.3, .seed = seed});
}

/* Pressure is raised from 16.2 to 17.2 s, and steady when the puck gives way: the bed has had 0.8 s
 * to settle, in which the meter shows its trend to 1 %, so that the onset is known to some samples.
 */
static void its_onset_is_clear_soon_after_pressure_was_raised(void **state) {
    feed got = surges(&(plan){.loss = 0.4,
                              .raised = 1,
                              .earlier = 1.8,
                              .meter = true,
                              .rate = 20,
                              .noise = 0.03,
                              .seed = 18},
                      "surges");
    const char *line = final_line(got.out.bytes, "surge", 0);
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    assert_close(mark_number(line, "from"), 18, 0.2);
    assert_true(mark_number(line, "from.high") - mark_number(line, "from.low") < 0.4);
    feed_free(&got);
}

/* No sample lies in the second before the onset. */
static void a_surge_may_begin_in_a_gap(void **state) {
    const plan p = {.loss = 0.4, .meter = true, .rate = 10, .noise = 0.05, .seed = 16};
    shot_text text = write(&p);
    char *from = strstr(text.bytes, "\n16.8,"), *to = strstr(text.bytes, "\n18.3,");
    assert_true(from != NULL && to != NULL);
    memmove(from, to, strlen(to) + 1);
    feed got = feed_chain("surges", text.bytes, strlen(text.bytes), 0);
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    feed_free(&got);
    shot_text_free(&text);
}

/* The second comes 0.8 s after the first has ended; one long opening would have another end. */
static void two_that_follow_each_other_are_two(void **state) {
    feed got = surges(
        &(plan){.loss = 0.3, .second = 0.2, .meter = true, .rate = 20, .noise = 0.03, .seed = 21},
        "surges");
    assert_int_equal(final_count(got.out.bytes, "surge"), 2);
    assert_close(mark_number(final_line(got.out.bytes, "surge", 0), "from"), 18, 0.3);
    assert_close(mark_number(final_line(got.out.bytes, "surge", 1), "from"), 19.4, 0.3);
    assert_close(mark_number(final_line(got.out.bytes, "surge", 0), "value"), 30, 4);
    assert_close(mark_number(final_line(got.out.bytes, "surge", 1), "value"), 20, 4);
    feed_free(&got);
}

/* One surge, and it begins at 18 s. */
static void expect_one(const plan *p, double tolerance) {
    feed got = surges(p, "surges");
    assert_int_equal(final_count(got.out.bytes, "surge"), 1);
    assert_close(mark_number(final_line(got.out.bytes, "surge", 0), "from"), 18, tolerance);
    feed_free(&got);
}

/* The pressure sags behind a surge, and the bed relaxes until as much flows as before. */
static void a_bed_that_relaxes_behind_one_is_no_second(void **state) {
    for (uint64_t seed = 1; seed <= turns(10); seed++)
        expect_one(
            &(plan){
                .loss = 0.3, .sags = 0.2, .meter = true, .rate = 20, .noise = 0.03, .seed = seed},
            0.5);
}

/* 0.3 s after the brewing pressure was reached: what the wet bed let through before shows while the
 * pressure rises. */
static void one_may_open_in_the_first_moments_of_a_brew(void **state) {
    expect_one(
        &(plan){.loss = 0.35, .soaked = true, .meter = true, .rate = 20, .noise = 0.03, .seed = 23},
        0.3);
}

/* A bed is held wet, and lets 0.02 ml/s through, less than the 0.05 by which one figure of the
 * meter is uncertain; then the pump brings its water, while a gauge that shows 1 bar too much still
 * stands.  How much resistance the bed had nobody knows. */
static int begins_to_flow(uint64_t seed) {
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 0);
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 680; i++) {
        const double t = i / 20.0;
        const double held = 1.01 + 0.26 * (ramp(t, 1, 1) - ramp(t, 31, 0.3)) +
                            5 * (ramp(t, 23.2, 2) - ramp(t, 31, 0.3));
        const double flow = 4 * (ramp(t, 1, 0.2) - ramp(t, 4, 0.3)) + 0.02 * (t > 20.5 && t < 22) +
                            2.5 * (1 - exp(-fmax(0, t - 22) / 0.12)) * (t < 31);
        shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t,
                             held + 0.02 * shot_random_normal(&random),
                             flow + 0.05 * shot_random_normal(&random));
    }
    return final_count_of("surges", &text, "surge");
}

static void what_begins_to_flow_is_none(void **state) {
    for (uint64_t seed = 1; seed <= turns(4); seed++)
        assert_int_equal(begins_to_flow(seed), 0);
}

/* A profile goes down by 0.8 bar within half a second.  The meter stands at the pump, which gives
 * nothing meanwhile; then as much flows as before, since the bed relaxes. */
static void a_pump_that_comes_back_is_none(void **state) {
    for (uint64_t seed = 51; seed < 51 + turns(3); seed++) {
        shot_text text = {0};
        shot_random random = shot_random_at(seed, 0);
        shot_text_add(&text, "time,pressure,flow\n");
        for (int i = 0; i < 3200; i++) {
            const double t = i / 100.0, flows = t > 1 && t < 31;
            const double pumps = 1 - ramp(t, 18, 0.2) + ramp(t, 18.45, 0.2);
            const double flow = flows * pumps * (1.07 + 5 * exp(-(t - 1) / 1.2));
            shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t,
                                 pressed(t) - 0.8 * ramp(t, 18, 0.5) +
                                     0.02 * shot_random_normal(&random),
                                 flow + 0.02 * shot_random_normal(&random));
        }
        assert_int_equal(final_count_of("surges", &text, "surge"), 0);
    }
}

/* The pump stands still for 3 s: what is over the bed leaves through it, and a scale shows it late,
 * by the time in which the basket drains.  Pressure falls faster than that flow, and comes back. */
static void a_pump_that_pauses_is_none(void **state) {
    for (int k = 0; k < 3; k++) {
        const double drains[] = {0.3, 0.6, 1}, left = 9 * exp(-3 / 0.5);
        shot_random random = shot_random_at(71, (uint64_t)k);
        shot_text text = {0};
        double leaves = 0, weight = 0;
        shot_text_add(&text, "time,pressure,weight\n");
        for (int i = 0; i < 3400; i++) {
            const double t = i / 100.0;
            const double pressure =
                t > 16.2 && t < 19.2 ? 9 * exp(-(t - 16.2) / 0.5)
                : t > 19             ? left + (9 - left) * ramp(t, 19.2, 1) - 9 * ramp(t, 31, 0.3)
                                     : pressed(t);
            leaves += 0.01 / drains[k] * ((t > 11.5 ? pressure / 3 : 0) - leaves);
            weight += 0.01 * leaves;
            if (i % 10 == 0)
                shot_text_add_format(&text, "%.1f,%.2f,%.1f\n", t,
                                     pressure + 0.02 * shot_random_normal(&random),
                                     weight + 0.03 * shot_random_normal(&random));
        }
        assert_int_equal(final_count_of("surges", &text, "surge"), 0);
    }
}

/* 45 % within 0.9 s, ever faster, by a meter so good that no shape which is tried fits. */
static void a_shape_of_its_own_is_one(void **state) {
    for (uint64_t seed = 55; seed < 55 + turns(3); seed++) {
        shot_text text = {0};
        shot_random random = shot_random_at(seed, 0);
        shot_text_add(&text, "time,pressure,flow\n");
        for (int i = 0; i < 1280; i++) {
            const double t = i / 40.0, way = ramp(t, 18, 0.9);
            const double resistance = 4 * exp(-0.008 * t) * (1 - 0.45 * way * sqrt(way));
            const double flow =
                t > 1 && t < 31 ? 5 * exp(-(t - 1) / 1.2) + pressed(t) / resistance : 0;
            shot_text_add_format(&text, "%.2f,%.3f,%.3f\n", t,
                                 pressed(t) + 0.01 * shot_random_normal(&random),
                                 flow + 0.003 * shot_random_normal(&random));
        }
        assert_int_equal(final_count_of("surges", &text, "surge"), 1);
    }
}

/* A spring: from 6 s on pressure falls by 6 % a second. */
static double behind_a_spring(double t) {
    return pressed(t) * exp(-0.06 * fmax(0, t - 6));
}

/* A profile that falls by half a bar a second, from 8 s on until 20 s. */
static double in_a_profile(double t) {
    return pressed(t) * (1 - 6 / 9.0 * ramp(t, 8, 12));
}

/* Pressure falls evenly, and a loss at that time shows in flow over pressure. */
static int found_while_falling(double (*course)(double t), double at, double loss, uint64_t seed,
                               double *from) {
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 0);
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 640; i++) {
        const double t = i / 20.0, pressure = course(t);
        const double resistance = 4 * exp(-0.008 * t) * (1 - loss * ramp(t, at, 0.6));
        const double flow = t > 1 && t < 31 ? 5 * exp(-(t - 1) / 1.2) + pressure / resistance : 0;
        shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t,
                             pressure + 0.02 * shot_random_normal(&random),
                             flow + 0.02 * shot_random_normal(&random));
    }
    feed got = feed_log("surges", &text);
    const int count = final_count(got.out.bytes, "surge");
    *from = count > 0 ? mark_number(final_line(got.out.bytes, "surge", 0), "from") : NAN;
    feed_free(&got);
    return count;
}

static void expect_one_while_falling(double (*course)(double t), double at) {
    double from;
    for (uint64_t seed = 61; seed < 61 + turns(3); seed++) {
        assert_int_equal(found_while_falling(course, at, 0.2, seed, &from), 1);
        assert_close(from, at, 0.3);
        assert_int_equal(found_while_falling(course, at, 0, seed, &from), 0);
    }
}

/* Whether it falls by a share each second or by an amount. */
static void one_shows_while_pressure_falls_evenly(void **state) {
    expect_one_while_falling(behind_a_spring, 18);
    expect_one_while_falling(in_a_profile, 15);
}

static void small_losses_are_none(void **state) {
    expect_none(&(plan){.loss = 0.02, .meter = true, .rate = 50, .noise = 0.02, .seed = 6});
}

/* A loss of 15 % within 5 s is told from one within 2 s by meters as good as these. */
static void slow_losses_are_none(void **state) {
    for (uint64_t seed = 41; seed < 41 + turns(3); seed++)
        expect_none(&(plan){
            .loss = 0.15, .takes = 5, .meter = true, .rate = 20, .noise = 0.01, .seed = seed});
}

static void raised_pressure_is_none(void **state) {
    expect_none(&(plan){.raised = 1.5, .meter = true, .rate = 10, .noise = 0.05, .seed = 7});
}

static void lowered_pressure_is_none(void **state) {
    expect_none(&(plan){.lowered = 3, .meter = true, .rate = 10, .noise = 0.05, .seed = 8});
}

static void a_knock_and_a_spike_are_none(void **state) {
    expect_none(&(plan){.knock = 8, .scale = true, .rate = 10, .seed = 9});
    expect_none(&(plan){.spike = 6, .meter = true, .rate = 10, .noise = 0.05, .seed = 10});
}

/* A spoon that is put beside the cup changes the weight at once, and the stream runs on. */
static void a_thing_put_on_the_tray_is_none(void **state) {
    static const double things[] = {2, 5, 14.2, 40, -3};
    for (unsigned i = 0; i < turns(10); i++)
        expect_none(
            &(plan){.put = things[i % 5], .scale = true, .rate = i < 5 ? 10 : 5, .seed = 60});
    expect_surge(&(plan){.loss = 0.25, .put = 5, .scale = true, .rate = 10, .seed = 61});
    (void)state;
}

static void a_scale_that_hangs_is_none(void **state) {
    for (unsigned i = 0; i < turns(6); i++)
        expect_none(&(plan){.hangs = 18 + i, .scale = true, .rate = i % 2 ? 10 : 5, .seed = 62});
    expect_surge(&(plan){.loss = 0.25, .hangs = 24, .scale = true, .rate = 10, .seed = 63});
    feed got = surges(&(plan){.hangs = 20, .scale = true, .rate = 10, .seed = 62}, "surges");
    assert_non_null(strstr(got.out.bytes, "nothing tells what opened then"));
    feed_free(&got);
    (void)state;
}

/* What a hand does to the scale while water runs, and a surge that it does not hide. */
static void a_hand_on_the_scale_is_none(void **state) {
    for (unsigned i = 0; i < turns(6); i++) {
        expect_none(&(plan){.tared = 20 + i, .scale = true, .rate = i % 2 ? 10 : 25, .seed = 40});
        expect_none(
            &(plan){.hand = 8 + 5.0 * i, .scale = true, .rate = i % 2 ? 10 : 25, .seed = 41});
    }
    expect_surge(&(plan){.loss = 0.25, .tared = 26, .scale = true, .rate = 10, .seed = 42});
    expect_surge(&(plan){.loss = 0.25, .tared = 20, .scale = true, .rate = 10, .seed = 42});
}

/* The flow ceases to fall, but no more flows than before. */
static void a_bed_that_is_wet_through_is_none(void **state) {
    expect_none(&(plan){.wets = 0.4, .meter = true, .rate = 100, .noise = 0.02, .seed = 11});
}

/* The log ends as the surge does: there is no flow behind the surge to tell its rise by. */
static void a_log_may_end_within_a_surge(void **state) {
    const plan p = {.loss = 0.4, .meter = true, .rate = 20, .noise = 0.04, .seed = 1};
    shot_text text = write(&p);
    char *end = strstr(text.bytes, "\n18.6,");
    assert_non_null(end);
    end[1] = '\0';
    feed got = feed_chain("segment | surges", text.bytes, strlen(text.bytes), 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_true(mark_count(got.out.bytes, "surge") > 0);
    assert_null(strstr(got.out.bytes, "nan"));
    feed_free(&got);
    shot_text_free(&text);
}

static void blocks_of_any_size_give_the_same_bytes(void **state) {
    plan p = {.loss = 0.3, .meter = true, .scale = true, .rate = 4, .noise = 0.06, .seed = 22};
    shot_text text = write(&p);
    feed whole = feed_chain("surges", text.bytes, text.length, 0);
    feed parts = feed_chain("surges", text.bytes, text.length, 7);
    assert_string_equal(whole.out.bytes, parts.out.bytes);
    feed_free(&whole);
    feed_free(&parts);
    shot_text_free(&text);
}

static void says_what_it_lacks(void **state) {
    plan p = {.rate = 10, .seed = 1};
    feed got = surges(&p, "surges");
    assert_non_null(strstr(got.out.bytes, "no surges: there is no flow or weight"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(found_at_held_pressure),
        cmocka_unit_test(found_at_held_flow),
        cmocka_unit_test(its_note_tells_how_it_showed),
        cmocka_unit_test(found_by_the_scale_alone),
        cmocka_unit_test(found_without_pressure),
        cmocka_unit_test(flow_that_doubles_without_pressure_is_none),
        cmocka_unit_test(flow_that_may_have_doubled_without_pressure_is_none),
        cmocka_unit_test(its_onset_is_clear_soon_after_pressure_was_raised),
        cmocka_unit_test(a_surge_may_begin_in_a_gap),
        cmocka_unit_test(two_that_follow_each_other_are_two),
        cmocka_unit_test(a_bed_that_relaxes_behind_one_is_no_second),
        cmocka_unit_test(one_may_open_in_the_first_moments_of_a_brew),
        cmocka_unit_test(what_begins_to_flow_is_none),
        cmocka_unit_test(a_pump_that_comes_back_is_none),
        cmocka_unit_test(a_pump_that_pauses_is_none),
        cmocka_unit_test(a_shape_of_its_own_is_one),
        cmocka_unit_test(one_shows_while_pressure_falls_evenly),
        cmocka_unit_test(small_losses_are_none),
        cmocka_unit_test(slow_losses_are_none),
        cmocka_unit_test(raised_pressure_is_none),
        cmocka_unit_test(lowered_pressure_is_none),
        cmocka_unit_test(a_knock_and_a_spike_are_none),
        cmocka_unit_test(a_thing_put_on_the_tray_is_none),
        cmocka_unit_test(a_scale_that_hangs_is_none),
        cmocka_unit_test(a_hand_on_the_scale_is_none),
        cmocka_unit_test(a_bed_that_is_wet_through_is_none),
        cmocka_unit_test(a_log_may_end_within_a_surge),
        cmocka_unit_test(blocks_of_any_size_give_the_same_bytes),
        cmocka_unit_test(says_what_it_lacks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
