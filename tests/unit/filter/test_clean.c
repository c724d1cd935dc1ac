/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what shot-clean writes does not depend on how bytes arrive; real logs of every style
 * keep their ramps and pulses; planted spikes, clipped and stuck stretches are found, and honest
 * plateaus are not; who changes samples says what their noise was. */
#include <support/feed.h>
#include <support/text_count.h>
#include <support/turns.h>

#include <stdlib.h>

#include <shottrace/puck/synth.h>
#include <shottrace/signal/random.h>

/* What is done to a channel before it is written. */
typedef struct fault {
    const char *channel;
    size_t spikes;   /* one sample in so many is 3 to 8 off; 0: none */
    double from, to; /* stuck in between, s */
    double most;     /* clipped above */
} fault;

static const fault no_fault = {"", 0, INFINITY, INFINITY, INFINITY};

static double spoilt(const fault *what, size_t row, double t, double value, double *held,
                     shot_random *random) {
    if (what->spikes > 0 && row % what->spikes == what->spikes / 2)
        value += (3 + 5 * shot_random_uniform(random)) * (shot_random_chance(random, 0.5) ? 1 : -1);
    if (t >= what->from && t < what->to && !isnan(value))
        value = *held = isnan(*held) ? value : *held;
    return value > what->most ? what->most : value;
}

/* A simulated shot as a trace. */
static shot_text spoilt_trace(shot_style style, shot_grade grade, uint64_t seed,
                              const fault *what) {
    shot_synth *shot;
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 99);
    double held = NAN;
    assert_int_equal(shot_synth_new(style, grade, seed, 0, &shot), SHOT_OK);
    const shot_log *log = shot->log;
    for (size_t c = 0; c < log->columns; c++)
        shot_text_add_format(&text, "%s%s [%s]", c ? "," : "", log->name[c], log->unit[c]);
    for (size_t r = 0; r < log->rows; r++)
        for (size_t c = 0; c < log->columns; c++) {
            double value = log->column[c][r];
            if (strcmp(log->name[c], what->channel) == 0)
                value = spoilt(what, r, log->column[0][r], value, &held, &random);
            shot_text_add(&text, c ? "," : "\n");
            shot_text_add_number(&text, value);
        }
    shot_text_add(&text, "\n");
    shot_synth_free(shot);
    return text;
}

static shot_text trace_of(shot_style style, shot_grade grade, uint64_t seed, size_t every) {
    const fault spikes = {"pressure", every, INFINITY, INFINITY, INFINITY};
    return spoilt_trace(style, grade, seed, every > 0 ? &spikes : &no_fault);
}

static void check_blocks(const char *chain, const shot_text *in) {
    feed whole = feed_chain(chain, in->bytes, in->length, 0);
    assert_int_equal(whole.status, SHOT_OK);
    for (size_t block = 1; block < 4000; block = 3 * block + 10) {
        feed cut = feed_chain(chain, in->bytes, in->length, block);
        assert_int_equal(cut.status, SHOT_OK);
        assert_string_equal(cut.out.bytes, whole.out.bytes);
        feed_free(&cut);
    }
    feed_free(&whole);
}

static void blocks_carry_no_meaning(void **state) {
    for (int style = 0; style < 4; style++) {
        shot_text in = trace_of((shot_style)style, SHOT_GRADE_HARSH, 1003, 40);
        check_blocks("clean --marks --zero pressure", &in);
        check_blocks("clean", &in);
        shot_text_free(&in);
    }
}

/* Protects: a clock that is set back ends the shot and no more: all rows come out, in parts,
 * however they arrive, and nobody takes the log for whole. */
static void a_clock_that_falls_cuts_the_shot(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "# dose: 18 g\ntime,pressure\n");
    for (int i = 0; i < 100; i++)
        shot_text_add_format(&in, "%.1f,1\n", 0.1 * i - (i < 40 ? 0 : 3));
    feed whole = feed_chain("clean --marks", in.bytes, in.length, 0);
    assert_int_equal(whole.status, SHOT_ERR_DATA);
    assert_non_null(strstr(whole.out.bytes, "3.9,1\n# note: shot-clean: the clock fell by 2.9 s"));
    assert_non_null(strstr(whole.out.bytes, "# end: rows=40\n# shot: 1-part-2\n# dose: 18 g\n"));
    assert_non_null(strstr(whole.out.bytes, "# end: rows=60\n# close: shots=2\n"));
    assert_null(strstr(whole.out.bytes, "# mark")); /* none was left out */
    for (size_t block = 1; block < 1000; block = 3 * block + 10) {
        feed cut = feed_chain("clean --marks", in.bytes, in.length, block);
        assert_string_equal(cut.out.bytes, whole.out.bytes);
        feed_free(&cut);
    }
    feed_free(&whole);
    shot_text_free(&in);
}

/* Protects: the note on a clock that fell bears names whole, in any script. */
static void a_long_name_is_not_cut_in_a_note(void **state) {
    shot_text in = {0}, name = {0}, wanted = {0};
    shot_text_add(&name, "x");
    for (int i = 0; i < 60; i++)
        shot_text_add(&name, "\xc3\xa4");
    shot_text_add_format(&in, "# shot: %s\n# history: shot-read\ntime [s],pressure [bar]\n",
                         name.bytes);
    for (int i = 0; i < 100; i++)
        shot_text_add_format(&in, "%.1f,1\n", 0.1 * i - (i < 40 ? 0 : 3));
    shot_text_add_format(&wanted, "goes on as '%s-part-2'; where rows", name.bytes);
    feed result = feed_chain("clean", in.bytes, in.length, 0);
    assert_non_null(strstr(result.out.bytes, wanted.bytes));
    feed_free(&result);
    shot_text_free(&in);
    shot_text_free(&name);
    shot_text_free(&wanted);
}

/* Protects: a clock that fell and stands for hours fills no memory: its rows are left out and told
 * as they come, not kept until they go on. */
static void rows_of_a_clock_that_stands_are_not_kept(void **state) {
    enum { STANDS = 20000 };
    feed result = {0};
    const shot_chain_ends ends = {.output = {feed_write_, &result}};
    shot_chain *chain;
    shot_text in = {0};
    shot_text_add(&in, "time [s],pressure [bar]\n");
    for (int i = 0; i < 40; i++)
        shot_text_add_format(&in, "%.1f,1\n", 0.1 * i);
    for (int i = 0; i < STANDS; i++)
        shot_text_add(&in, "1,1\n");
    shot_text_add(&result.out, "");
    assert_int_equal(shot_chain_new("clean --marks", &ends, &chain, &result.error), SHOT_OK);
    assert_int_equal(shot_chain_push(chain, in.bytes, in.length, &result.error), SHOT_OK);
    size_t told = 0;
    for (const char *at = result.out.bytes; (at = strstr(at, "too late, and left out")); at++)
        told++;
    assert_true(told > STANDS / 2);
    assert_int_equal(shot_chain_finish(chain, &result.error), SHOT_ERR_DATA);
    assert_non_null(strstr(result.out.bytes, "20000 rows came too late"));
    assert_non_null(strstr(result.out.bytes, "# end: rows=40\n# close: shots=1\n"));
    shot_chain_free(chain);
    shot_text_free(&in);
    feed_free(&result);
}

/* Two channels with jitter, gaps, late rows, missing values, spikes, plateaus and few digits. */
static shot_text random_trace(shot_random *random) {
    const double rate = shot_random_between(random, 5, 60);
    const double missing = shot_random_chance(random, 0.5) ? 0.03 : 0;
    const double faults = shot_random_chance(random, 0.5) ? 0.01 : 0;
    const int digits = 1 + (int)shot_random_below(random, 4);
    shot_text text = {0};
    double t = 0, level[2] = {4, 10};
    shot_text_add(&text, "time [s],pressure [bar],weight [g]\n");
    for (int row = 0; row < 700; row++) {
        t += shot_random_between(random, 0.8, 1.2) / rate;
        t += shot_random_chance(random, faults) ? shot_random_between(random, -0.1, 3) : 0;
        shot_text_add_format(&text, "%.4f", t);
        for (int c = 0; c < 2; c++) {
            if (shot_random_chance(random, faults))
                level[c] = shot_random_between(random, 0, 12);
            const double spike = shot_random_chance(random, 2 * faults) ? 6 : 0;
            if (shot_random_chance(random, missing))
                shot_text_add(&text, ",");
            else
                shot_text_add_format(&text, ",%.*f", digits,
                                     level[c] + spike + 0.05 * shot_random_normal(random));
        }
        shot_text_add(&text, "\n");
    }
    return text;
}

/* Rows that bring no mark are taken many at once when they come so: to the same end. */
static void rows_taken_together_give_the_same(void **state) {
    static const char *const chains[] = {"clean", "clean --replace --window 11 --gap 0",
                                         "clean --zero pressure --window 0.4s --threshold 2",
                                         "clean --reorder 3 --flat 0 --channel weight"};
    for (uint64_t seed = 0; seed < 4 * turns(6); seed++) {
        shot_random random = shot_random_at(81, seed);
        shot_text in = random_trace(&random);
        check_blocks(chains[seed % 4], &in);
        shot_text_free(&in);
    }
}

/* Clean logs have no spikes: at most one sample in 10,000 may be taken for one. */
static void real_ramps_and_pulses_stay(void **state) {
    size_t taken = 0, rows = 0;
    for (int style = 0; style < 10; style++)
        for (uint64_t seed = 1000; seed < 1000 + turns(5); seed++) {
            shot_text in = trace_of((shot_style)style, SHOT_GRADE_CLEAN, seed, 0);
            feed got = feed_chain("clean --keep", in.bytes, in.length, 0);
            taken += count_of(got.out.bytes, "# mark: spike ");
            rows += count_of(got.out.bytes, "\n");
            feed_free(&got);
            shot_text_free(&in);
        }
    print_message("%zu samples taken for spikes in %zu rows\n", taken, rows);
    assert_true(taken * 10000 <= rows * 4);
}

/* Spikes of 3 to 8 bar, one in 60 samples: nine in ten are found (one beside a fast edge cannot be
 * told from it). */
static void planted_spikes_are_found(void **state) {
    size_t found = 0, planted = 0;
    for (uint64_t seed = 1000; seed < 1010; seed++) {
        shot_text in = trace_of(SHOT_STYLE_RESTRICTOR, SHOT_GRADE_CLEAN, seed, 60);
        feed got = feed_chain("clean --keep --channel pressure", in.bytes, in.length, 0);
        found += count_of(got.out.bytes, "# mark: spike ");
        planted += count_of(in.bytes, "\n") / 60;
        feed_free(&got);
        shot_text_free(&in);
    }
    print_message("%zu spikes found, %zu planted\n", found, planted);
    assert_true(10 * found >= 9 * planted && found <= planted + planted / 10);
}

/* Water runs for a second, and stands; then one row shows a flow of `shown`. */
static size_t spikes_of_a_lone_flow(double spacing, double shown) {
    shot_text in = {0};
    shot_text_add(&in, "time,flow\n");
    for (int i = 0; i < 60; i++) {
        const double t = i * spacing;
        shot_text_add_format(&in, "%.2f,%.1f\n", t,
                             t >= 2 && t <= 3.2 ? 8
                             : i == 40          ? shown
                                                : 0.1 * (i % 2));
    }
    feed got = feed_chain("clean --keep", in.bytes, in.length, 0);
    const size_t count = count_of(got.out.bytes, "# mark: spike ");
    feed_free(&got);
    shot_text_free(&in);
    return count;
}

/* In a log of 4 Hz a pump that runs for less than half a second shows in one row, and gives about
 * what it gave before; less than that, more, and a row of a faster log are spikes. */
static void a_short_run_of_the_pump_stays(void **state) {
    assert_int_equal(spikes_of_a_lone_flow(0.25, 7), 0);
    assert_int_equal(spikes_of_a_lone_flow(0.25, 2.5), 1);
    assert_int_equal(spikes_of_a_lone_flow(0.25, 12), 1);
    assert_int_equal(spikes_of_a_lone_flow(0.1, 7), 1);
}

/* ---- clipped and stuck ---- */

static feed clean(const char *chain, const char *in) {
    feed got = feed_chain(chain, in, strlen(in), 0);
    if (got.status != SHOT_OK)
        print_error("%s\n", got.error.what);
    assert_int_equal(got.status, SHOT_OK);
    return got;
}

/* Noise of two steps about 9 bar: cut off at 9.1 for 4 s, standing still at 8.9 for 4 s.  Samples
 * stay; and nobody is told where nobody asks. */
static void clipped_and_stuck_stretches_are_marked(void **state) {
    shot_text in = {0};
    shot_random random = shot_random_at(8, 1);
    shot_text_add(&in, "time,pressure\n");
    for (int i = 0; i < 400; i++) {
        const double y = 9 + 0.02 * shot_random_normal(&random);
        shot_text_add_format(&in, "%.1f,%.2f\n", i / 10.0,
                             i >= 100 && i < 140   ? 9.1
                             : i >= 200 && i < 240 ? 8.98
                                                   : y);
    }
    feed got = clean("clean", in.bytes);
    assert_non_null(strstr(got.out.bytes,
                           "# mark: clip id=clip1 from=10 to=13.9 channel=pressure value=9.1 "
                           "unit=bar note=\"40 samples of one value\"\n"
                           "# mark: stuck id=stuck1 from=20 to=23.9 channel=pressure value=8.98 "
                           "unit=bar note=\"40 samples of one value\"\n"
                           "# note: shot-clean: pressure: 80 samples in 2 stretches look clipped "
                           "or stuck; they are left as they came\n"));
    assert_non_null(strstr(got.out.bytes, "\n13.9,9.1\n"));
    feed_free(&got);
    got = clean("clean --flat 0", in.bytes);
    assert_null(strstr(got.out.bytes, "# mark:"));
    feed_free(&got);
    shot_text_free(&in);
}

/* Plateaus of coarse figures, an idle sensor, a scale at rest: honest runs of one value. */
static void honest_plateaus_are_not_marked(void **state) {
    shot_text in = {0};
    shot_random random = shot_random_at(8, 2);
    shot_text_add(&in, "time,pressure,flow,weight\n");
    for (int i = 0; i < 400; i++) {
        const double t = i / 10.0, p = t < 5 ? 0.1 : t < 9 ? 2.2 * (t - 5) : 8.8;
        shot_text_add_format(&in, "%.1f,%.1f,%.2f,%.1f\n", t,
                             p + 0.012 * shot_random_normal(&random),
                             t < 5 ? 0 : 2 + 0.05 * shot_random_normal(&random),
                             t < 9    ? 0
                             : t < 30 ? 1.7 * (t - 9) + 0.1 * shot_random_normal(&random)
                                      : 36.2);
    }
    feed got = clean("clean", in.bytes);
    assert_null(strstr(got.out.bytes, "# mark:"));
    feed_free(&got);
    shot_text_free(&in);
}

static size_t flat_marks(const char *text) {
    return count_of(text, "# mark: clip ") + count_of(text, "# mark: stuck ");
}

/* Simulated logs have none.  1200 logs (ten styles, three grades, 40 each) had 7 marks, all in
 * harsh ones; here at most one log in 60 may have any, three times as many as that. */
static void simulated_logs_are_rarely_marked(void **state) {
    size_t logs = 0, marks = 0;
    for (int grade = 0; grade < 3; grade++)
        for (int style = 0; style < 10; style++)
            for (uint64_t seed = 2000; seed < 2000 + turns(4); seed++, logs++) {
                shot_text in = trace_of((shot_style)style, (shot_grade)grade, seed, 0);
                feed got = clean("clean", in.bytes);
                marks += flat_marks(got.out.bytes);
                feed_free(&got);
                shot_text_free(&in);
            }
    print_message("%zu marks in %zu simulated logs\n", marks, logs);
    assert_true(60 * marks <= logs);
}

/* Of 3 s stuck in typical logs half of the channels' faults and more are found; the others have too
 * little noise for their step, or too few samples. */
static void planted_faults_are_found(void **state) {
    static const char *const channels[] = {"pressure", "flow", "weight"};
    size_t stuck = 0, clipped = 0, planted = 0;
    for (size_t c = 0; c < 3; c++)
        for (uint64_t seed = 2000; seed < 2016; seed++, planted++) {
            const fault faults[] = {{channels[c], 0, 16, 19, INFINITY},
                                    {channels[c], 0, INFINITY, INFINITY, c == 0 ? 7.3 : 1.5}};
            for (size_t k = 0; k < 2; k++) {
                shot_text in =
                    spoilt_trace(SHOT_STYLE_RESTRICTOR, SHOT_GRADE_TYPICAL, seed, &faults[k]);
                feed got = clean("clean", in.bytes);
                if (k == 0)
                    stuck += strstr(got.out.bytes, "# mark: stuck ") != NULL;
                else if (c < 2)
                    clipped += strstr(got.out.bytes, "# mark: clip ") != NULL;
                feed_free(&got);
                shot_text_free(&in);
            }
        }
    print_message("%zu of %zu stuck, %zu of %zu clipped\n", stuck, planted, clipped,
                  planted * 2 / 3);
    assert_true(2 * stuck >= planted && 3 * clipped >= planted);
}

/* ---- noise ---- */

/* Who changes samples says what their noise was: a median in the place of a spike, a mean of two
 * values of one time; not where samples only go missing, or where the two were the same. */
static void noise_is_told_where_samples_change(void **state) {
    shot_text in = {0};
    shot_random random = shot_random_at(8, 3);
    shot_text_add(&in, "time,pressure,flow,weight\n");
    for (int i = 0; i < 300; i++) {
        const double noise = shot_random_normal(&random);
        shot_text_add_format(&in, "%.1f,%.3f,%.3f,%d\n", i / 10.0, i == 150 ? 4 : 9 + 0.05 * noise,
                             2 + 0.1 * noise, i);
        if (i == 40)
            shot_text_add_format(&in, "%.1f,,7,%d\n", i / 10.0, i);
    }
    feed got = clean("clean --replace", in.bytes);
    const char *pressure = strstr(got.out.bytes, "# noise: pressure sd=0.0");
    assert_non_null(pressure);
    assert_close(strtod(pressure + 22, NULL), 0.05, 0.01);
    assert_non_null(strstr(got.out.bytes, "# noise: flow sd="));
    assert_null(strstr(got.out.bytes, "# noise: weight"));
    feed_free(&got);
    got = clean("clean", in.bytes);
    assert_null(strstr(got.out.bytes, "# noise: pressure"));
    assert_non_null(strstr(got.out.bytes, "# noise: flow sd="));
    feed_free(&got);
    shot_text told = {0};
    shot_text_add_format(&told, "# noise: flow sd=0.3 corr=0s\n%s", in.bytes);
    got = clean("clean", told.bytes);
    assert_int_equal(count_of(got.out.bytes, "# noise: flow"), 1);
    feed_free(&got);
    shot_text_free(&told);
    shot_text_free(&in);
}

/* Detectors behind it go on giving intervals, for it changes single samples; behind a smoother they
 * do not. */
static void intervals_stay_behind_clean(void **state) {
    shot_text in = {0};
    shot_random random = shot_random_at(8, 4);
    shot_text_add(&in, "time,pressure\n");
    for (int i = 0; i < 300; i++)
        shot_text_add_format(
            &in, "%.1f,%.3f\n", i / 10.0,
            i == 250 ? 1.0 : fmin(9, 0.6 * i / 10.0) + 0.05 * shot_random_normal(&random));
    feed got = clean("clean --replace | knees", in.bytes);
    assert_non_null(strstr(got.out.bytes, "# noise: pressure sd="));
    assert_non_null(strstr(got.out.bytes, "from.low="));
    feed_free(&got);
    got = clean("clean --replace | smooth | knees", in.bytes);
    assert_null(strstr(got.out.bytes, "from.low="));
    feed_free(&got);
    shot_text_free(&in);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_carry_no_meaning),
        cmocka_unit_test(a_clock_that_falls_cuts_the_shot),
        cmocka_unit_test(a_long_name_is_not_cut_in_a_note),
        cmocka_unit_test(rows_of_a_clock_that_stands_are_not_kept),
        cmocka_unit_test(rows_taken_together_give_the_same),
        cmocka_unit_test(real_ramps_and_pulses_stay),
        cmocka_unit_test(planted_spikes_are_found),
        cmocka_unit_test(a_short_run_of_the_pump_stays),
        cmocka_unit_test(clipped_and_stuck_stretches_are_marked),
        cmocka_unit_test(honest_plateaus_are_not_marked),
        cmocka_unit_test(simulated_logs_are_rarely_marked),
        cmocka_unit_test(planted_faults_are_found),
        cmocka_unit_test(noise_is_told_where_samples_change),
        cmocka_unit_test(intervals_stay_behind_clean),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
