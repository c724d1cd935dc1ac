/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: first drop, end of brew and release are told while the shot runs, soon after them; a
 * knock, a cup, a pump that stands and a pressure that is eased off are taken for none of them or
 * taken back; each counts once in the end. */
#include <support/feed.h>
#include <support/mark_text.h>

#include <shottrace/signal/flicker.h>
#include <shottrace/signal/random.h>

/* At 10 Hz, in a typical logger's noise (docs/model.md): water from 2 s on, 9 bar from 5 s on,
 * drops from 12 s on, pump off at 30 s; under 0.5 bar a time constant * ln(9 / 0.5) later. */
static const double water = 2, drops = 12, off = 30, drains = 0.4;

typedef struct plan {
    double knock, cup;         /* s at which 3 g come for 0.3 s, 200 g for good; 0: none */
    double stands, runs_again; /* s between which the pump stands; 0: it does not */
    double eased;              /* s at which pressure is lowered to 4 bar; 0: it is not */
    double low, rises;         /* bar that are held, until this time, s; 0: 9 bar at once */
    bool without_flow;
    const char *marks; /* of a person, in the header; NULL: none */
} plan;

static double held_at(const plan *p, double t) {
    return p->low > 0 && t < p->rises ? p->low : 9;
}

static double pressure_at(const plan *p, double t) {
    if (t < 4)
        return 0;
    if (t > off)
        return held_at(p, off) * exp(-(t - off) / drains);
    if (p->stands > 0 && t > p->stands && t < p->runs_again)
        return 9 * exp(-(t - p->stands) / 1.5);
    if (p->eased > 0 && t > p->eased)
        return 4 + 5 * exp(-(t - p->eased) / 0.3);
    return held_at(p, t) * (1 - exp(-(t - 4) / 0.4));
}

static double flow_at(const plan *p, double t) {
    const bool stands = p->stands > 0 && t > p->stands && t < p->runs_again;
    return t < water || t > off || stands ? 0 : t < 4 ? 6 : 2;
}

static double weight_at(const plan *p, double t) {
    const bool knocked = p->knock > 0 && t >= p->knock && t < p->knock + 0.3;
    return 1.5 * fmax(0, fmin(t, off) - drops) + (knocked ? 3 : 0) +
           (p->cup > 0 && t >= p->cup ? 200 : 0);
}

static shot_text log_of(const plan *p) {
    shot_text text = {0};
    shot_random random = shot_random_at(5, 0);
    shot_text_add_format(&text, "# gauge: puck\n# scale.lag: 0 s\n%stime,pressure,weight%s\n",
                         p->marks != NULL ? p->marks : "", p->without_flow ? "" : ",flow");
    for (int i = 0; i <= 360; i++) {
        const double t = 0.1 * i;
        shot_text_add_format(&text, "%.1f,%.2f,%.2f", t,
                             pressure_at(p, t) + 0.04 * shot_random_normal(&random),
                             weight_at(p, t) + 0.05 * shot_random_normal(&random));
        if (!p->without_flow)
            shot_text_add_format(&text, ",%.2f",
                                 flow_at(p, t) + 0.07 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return text;
}

static feed segmented(const plan *p, size_t block) {
    shot_text text = log_of(p);
    return feed_log_in_blocks("segment", &text, block);
}

/* When the first mark with this id came; NaN if there is none. */
static double told(const feed *got, const char *id) {
    char start[64];
    snprintf(start, sizeof start, " id=%s ", id);
    const char *line = strstr(got->out.bytes, start);
    while (line != NULL && line > got->out.bytes && line[-1] != '\n')
        line--;
    return line != NULL ? row_before(got->out.bytes, line) : NAN;
}

/* A drop within 2 s of falling, the end of the brew and of the release within 1 s. */
static void expect_told(const plan *p) {
    feed got = segmented(p, 0);
    const double gone = off + drains * log(9 / 0.5);
    assert_close(told(&got, "first-drip-1"), drops + 1, 1);
    assert_close(mark_number(strstr(got.out.bytes, "id=first-drip-1 "), "from"), drops, 0.3);
    assert_close(told(&got, "release-1"), off + 0.5, 0.5);
    assert_close(mark_number(strstr(got.out.bytes, "id=release-1 "), "from"), off, 0.2);
    assert_close(told(&got, "release-2"), gone + 0.5, 0.5);
    assert_close(mark_number(strstr(got.out.bytes, "id=release-2 "), "to"), gone, 0.2);
    assert_non_null(strstr(got.out.bytes, "refines=first-drip-1"));
    assert_non_null(strstr(got.out.bytes, "refines=release-2"));
    assert_null(strstr(got.out.bytes, "withdrawn"));
    feed_free(&got);
}

static void drop_and_end_are_told_in_time(void **state) {
    expect_told(&(plan){0});
    expect_told(&(plan){.without_flow = true});
}

/* No flow but a counter, in steps of 1 ml or of 0.1: it goes on from where the last shot left it,
 * or is set back a second before the water comes. */
static void a_count_of_water_tells_of_it(void **state) {
    static const double steps[] = {1, 1, 0.1}, stands[] = {873, 60, 0}, set_back[] = {0, 1, 0};
    for (int k = 0; k < 3; k++) {
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure,water\n");
        for (int i = 0; i <= 60; i++) {
            const double t = 0.1 * i, drawn = 6 * fmax(0, t - water);
            const double before = set_back[k] > 0 && t >= set_back[k] ? 0 : stands[k];
            shot_text_add_format(&text, "%.1f,%.2f,%.1f\n", t, pressure_at(&(plan){0}, t),
                                 before + floor(drawn / steps[k]) * steps[k]);
        }
        feed got = feed_log("segment", &text);
        const char *line = strstr(got.out.bytes, "id=preinfusion-1 ");
        assert_close(told(&got, "preinfusion-1"), water + 0.25, 0.25);
        assert_close(mark_number(line, "from"), water, 0.3);
        feed_free(&got);
    }
}

/* The pressure rises from 4 s on, a time constant of 0.4 s; under 0.5 bar until 4.02 s. */
static void a_full_basket_is_told_by_its_pressure(void **state) {
    for (int without_flow = 0; without_flow < 2; without_flow++) {
        feed got = segmented(&(plan){.without_flow = without_flow}, 0);
        const char *fill = strstr(got.out.bytes, "id=fill-1 ");
        assert_close(told(&got, "fill-1"), 4.02 + 0.5, 0.5);
        assert_close(mark_number(fill, "to"), 4.02, 0.3);
        assert_non_null(strstr(got.out.bytes, "refines=fill-1"));
        feed_free(&got);
    }
}

/* A log that starts in the brew: water and full pressure are told at once, but not on one row. */
static void no_id_comes_twice(void **state) {
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 100; i++)
        shot_text_add_format(&text, "%.1f,%.2f,2\n", 0.1 * i, 9 + 0.02 * (i % 2));
    feed got = feed_log("segment", &text);
    const char *first = strstr(got.out.bytes, " id=preinfusion-1 ");
    assert_non_null(first);
    assert_null(strstr(first + 1, " id=preinfusion-1 "));
    feed_free(&got);
}

static void live_and_whole_come_the_same_bytes(void **state) {
    const plan p = {.stands = 18, .runs_again = 20};
    feed whole = segmented(&p, 0), live = segmented(&p, 7);
    assert_string_equal(whole.out.bytes, live.out.bytes);
    feed_free(&whole);
    feed_free(&live);
}

static void each_event_counts_once(void **state) {
    shot_text text = log_of(&(plan){.stands = 18, .runs_again = 20});
    feed got = feed_log("segment | marks", &text);
    static const char *const kinds[] = {",first-drip,", ",brew,", ",release,"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        const char *first = strstr(got.out.bytes, kinds[i]);
        assert_non_null(first);
        assert_null(strstr(first + 1, kinds[i]));
    }
    feed_free(&got);
}

static void a_knock_is_no_drop(void **state) {
    expect_told(&(plan){.knock = 8});
}

static void a_cup_that_is_put_on_is_no_drop(void **state) {
    feed got = segmented(&(plan){.cup = 8}, 0);
    assert_close(told(&got, "first-drip-1"), drops + 1, 1);
    feed_free(&got);
}

/* What was told is taken back within a second, and the brew goes on. */
static void a_pump_that_stands_for_a_while_ends_no_brew(void **state) {
    feed got = segmented(&(plan){.stands = 18, .runs_again = 20}, 0);
    const char *note =
        strstr(got.out.bytes, "refines=release-1 note=\"withdrawn: the pump ran on\"");
    assert_non_null(note);
    assert_close(row_before(got.out.bytes, note), 20.5, 0.6);
    assert_close(mark_number(strstr(got.out.bytes, "id=release-2 "), "from"), off, 0.2);
    feed_free(&got);
}

static void a_pressure_that_is_eased_off_ends_no_brew(void **state) {
    feed got = segmented(&(plan){.eased = 18}, 0);
    assert_close(told(&got, "release-1"), off + 0.5, 0.5);
    assert_null(strstr(got.out.bytes, "withdrawn"));
    feed_free(&got);
}

/* Of 3 bar nobody knows whether it is a pre-wetting until the cup has it: drops are told within 2 s
 * and 3 g more run in 2 s.  95 % of a level that may be exceeded by 3 % are reached 2.55 time
 * constants after the rise began. */
static void a_brew_at_a_low_pressure_is_told_by_the_cup(void **state) {
    const plan low = {.low = 3, .rises = INFINITY};
    feed got = segmented(&low, 0);
    assert_close(told(&got, "brew-1"), drops + 2.5, 2);
    assert_close(mark_number(strstr(got.out.bytes, "id=brew-1 "), "from"), 4 + 2.55 * 0.4, 0.5);
    assert_close(told(&got, "release-1"), off + 0.5, 0.5);
    assert_non_null(strstr(got.out.bytes, "refines=brew-2"));
    feed_free(&got);
}

static void a_few_drops_at_a_low_pressure_are_no_brew(void **state) {
    feed got = segmented(&(plan){.low = 3, .rises = 14}, 0);
    assert_close(told(&got, "brew-1"), 14.5, 0.5);
    assert_close(mark_number(strstr(got.out.bytes, "id=brew-1 "), "from"), 14, 0.2);
    feed_free(&got);
}

/* 3 bar are held from 5 s on, and for a second more until they pass for held; the main rise is told
 * with full pressure. */
static void soak_and_main_rise_are_told(void **state) {
    feed got = segmented(&(plan){.low = 3, .rises = 14}, 0);
    const char *soak = strstr(got.out.bytes, "id=soak-2 ");
    assert_close(told(&got, "soak-1"), 6.5, 1);
    assert_close(mark_number(soak, "from"), 4.05, 0.3);
    assert_close(mark_number(soak, "to"), 14, 0.3);
    assert_close(told(&got, "ramp-1"), told(&got, "brew-1"), 0.001);
    assert_close(mark_number(strstr(got.out.bytes, "id=ramp-1 "), "from"), 14, 0.3);
    assert_non_null(strstr(got.out.bytes, "refines=soak-2"));
    assert_non_null(strstr(got.out.bytes, "refines=ramp-1"));
    feed_free(&got);
}

/* What a person marked is not told, but what stands on it is. */
static void what_a_person_marked_counts(void **state) {
    feed low = segmented(
        &(plan){.low = 3, .rises = INFINITY, .marks = "# mark: first-drip from=12 to=12\n"}, 0);
    assert_null(strstr(low.out.bytes, "id=first-drip-1 "));
    assert_close(told(&low, "brew-1"), drops + 2.5, 2);
    feed_free(&low);
    feed soaks =
        segmented(&(plan){.low = 3, .rises = 14, .marks = "# mark: fill from=2 to=4.3\n"}, 0);
    assert_null(strstr(soaks.out.bytes, "id=fill-1 "));
    assert_close(told(&soaks, "soak-1"), 6.5, 1);
    assert_close(mark_number(strstr(soaks.out.bytes, "id=soak-1 "), "from"), 4.3, 1e-9);
    assert_close(told(&soaks, "ramp-1"), told(&soaks, "brew-1"), 0.001);
    feed_free(&soaks);
}

static void a_level_that_was_the_brews_is_no_soak(void **state) {
    feed got = segmented(&(plan){.low = 3, .rises = INFINITY}, 0);
    const char *note = strstr(got.out.bytes, "refines=soak-1");
    assert_non_null(note);
    assert_close(row_before(got.out.bytes, note), told(&got, "brew-1"), 0.001);
    assert_null(strstr(got.out.bytes, "id=soak-2 "));
    feed_free(&got);
}

/* A scale alone, two minutes of it with nothing on it: noise, and drift as large that wanders. */
static void noise_is_no_drop(void **state) {
    int told_of = 0;
    for (uint64_t log = 0; log < 60; log++) {
        const double rate = log % 2 ? 10 : 4;
        shot_random random = shot_random_at(31, log);
        shot_flicker slow;
        shot_text text = {0};
        shot_flicker_start(&slow, shot_random_at(32, log), 64);
        shot_text_add(&text, "time,weight\n");
        for (int i = 0; i < 120 * rate; i++)
            shot_text_add_format(&text, "%.2f,%.2f\n", i / rate,
                                 0.04 * shot_random_normal(&random) +
                                     0.04 * shot_flicker_step(&slow, 1 / rate));
        feed got = feed_log("segment", &text);
        told_of += strstr(got.out.bytes, "first-drip-1") != NULL;
        feed_free(&got);
    }
    assert_in_range(told_of, 0, 3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drop_and_end_are_told_in_time),
        cmocka_unit_test(a_count_of_water_tells_of_it),
        cmocka_unit_test(a_full_basket_is_told_by_its_pressure),
        cmocka_unit_test(no_id_comes_twice),
        cmocka_unit_test(live_and_whole_come_the_same_bytes),
        cmocka_unit_test(each_event_counts_once),
        cmocka_unit_test(a_knock_is_no_drop),
        cmocka_unit_test(a_cup_that_is_put_on_is_no_drop),
        cmocka_unit_test(a_pump_that_stands_for_a_while_ends_no_brew),
        cmocka_unit_test(a_pressure_that_is_eased_off_ends_no_brew),
        cmocka_unit_test(a_brew_at_a_low_pressure_is_told_by_the_cup),
        cmocka_unit_test(a_few_drops_at_a_low_pressure_are_no_brew),
        cmocka_unit_test(soak_and_main_rise_are_told),
        cmocka_unit_test(what_a_person_marked_counts),
        cmocka_unit_test(a_level_that_was_the_brews_is_no_soak),
        cmocka_unit_test(noise_is_no_drop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
