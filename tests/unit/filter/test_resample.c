/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: times of the grid, values from a channel's own samples, gaps that stay missing, nothing
 * outside the samples, what a falling rate folds, and bytes that do not depend on blocks. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/number_text.h>

static void check_output(const char *chain, const char *in, const char *rows) {
    feed result = feed_chain(chain, in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_OK);
    const char *header = strstr(result.out.bytes, "\ntime [s]");
    assert_non_null(header);
    const char *first = strchr(header + 1, '\n') + 1, *last = strchr(first, '#');
    assert_non_null(last);
    if (strlen(rows) != (size_t)(last - first) || memcmp(rows, first, strlen(rows)) != 0) {
        print_error("%s gives\n%.*s", chain, (int)(last - first), first);
        fail();
    }
    feed_free(&result);
}

static const char RAMP[] = "time [s],pressure [bar]\n0.1,1\n0.2,2\n0.3,3\n0.4,4\n0.5,5\n0.6,6\n"
                           "0.7,7\n0.8,8\n0.9,9\n1,10\n1.1,11\n";

/* Multiples of the step, printed short, from the first at or after the first row. */
static void the_grid_lies_at_multiples_of_the_step(void **state) {
    check_output("resample --step 0.3s --method linear --max-gap 9s",
                 "time [s],weight [g]\n0.1,1\n0.9,9\n1.3,13\n", "0.3,3\n0.6,6\n0.9,9\n1.2,12\n");
    check_output("resample --rate 20 --method linear", "time [s],weight [g]\n-0.1,0\n0.11,2.1\n",
                 "-0.1,0\n-0.05,0.5\n0,1\n0.05,1.5\n0.1,2\n");
    check_output("resample --step 0.25s", "time [s],weight [g]\n3,7\n", "3,7\n");
    check_output("resample --step 0.25s", "time [s],weight [g]\n3.1,7\n", "");
}

/* The monotone cubic and the band-limited signal of a straight line are that line, up to the
 * ends. */
static void straight_lines_stay_straight(void **state) {
    check_output("resample --step 0.25s --digits 12", RAMP, "0.25,2.5\n0.5,5\n0.75,7.5\n1,10\n");
    check_output("resample --step 0.25s --method sinc --digits 12", RAMP,
                 "0.25,2.5\n0.5,5\n0.75,7.5\n1,10\n");
    check_output("resample --step 0.05s --method sinc --digits 12 --max-gap 9s",
                 "time [s],weight [g]\n0,3\n0.1,2\n0.2,1\n0.3,0\n",
                 "0,3\n0.05,2.5\n0.1,2\n0.15,1.5\n0.2,1\n0.25,0.5\n0.3,0\n");
}

/* A scale at 2 Hz in the rows of a gauge at 10 Hz; its empty fields are no samples, and its usual
 * interval is its own. */
static void each_channel_is_resampled_from_its_own_samples(void **state) {
    check_output("resample --step 0.25s --method linear --digits 12",
                 "time [s],pressure [bar],weight [g]\n0,9,\n0.1,9,\n0.2,9,1\n0.3,9,\n0.4,9,\n"
                 "0.5,9,\n0.6,9,\n0.7,9,2\n0.8,9,\n0.9,9,\n1,9,\n1.1,9,\n1.2,9,3\n1.3,9,\n",
                 "0,9,\n0.25,9,1.1\n0.5,9,1.6\n0.75,9,2.1\n1,9,2.6\n1.25,9,\n");
}

static void a_gap_stays_missing(void **state) {
    char text[4096] = "time [s],flow [ml/s]\n";
    for (int i = 0; i <= 40; i++)
        if (i <= 20 || i >= 27)
            snprintf(text + strlen(text), 64, "%.1f,%d\n", i / 10.0, i);
    /* 0.7 s between samples that are usually 0.1 s apart */
    feed whole =
        feed_chain("resample --step 0.2s --method linear --digits 12", text, strlen(text), 0);
    assert_int_equal(whole.status, SHOT_OK);
    assert_non_null(strstr(whole.out.bytes, "\n2,20\n2.2,\n2.4,\n2.6,\n2.8,28\n"));
    feed_free(&whole);
    whole = feed_chain("resample --step 0.2s --method linear --max-gap 7.1", text, strlen(text), 0);
    assert_int_equal(whole.status, SHOT_ERR_USAGE); /* a count of intervals is whole */
    feed_free(&whole);
    whole = feed_chain("resample --step 0.2s --method linear --max-gap 8 --digits 12", text,
                       strlen(text), 0);
    assert_non_null(strstr(whole.out.bytes, "\n2,20\n2.2,"));
    assert_null(strstr(whole.out.bytes, ",\n"));
    feed_free(&whole);
    whole = feed_chain("resample --step 0.1s --method linear --max-gap 0.75s --digits 12", text,
                       strlen(text), 0);
    assert_non_null(strstr(whole.out.bytes, "\n2.2,22\n2.3,23\n2.4,24\n"));
    feed_free(&whole);
}

static void nothing_is_invented_where_a_channel_is_silent(void **state) {
    check_output("resample --step 1s --method linear",
                 "time [s],pressure [bar],flow [ml/s]\n0,1,\n1,1,\n2,1,\n3,1,\n",
                 "0,1,\n1,1,\n2,1,\n3,1,\n");
    check_output("resample --step 1s",
                 "time [s],pressure [bar],flow [ml/s]\n0,,5\n1,,\n2,,\n3,4,\n",
                 "0,,5\n1,,\n2,,\n3,4,\n");
    check_output("resample --step 1s", "time [s]\n0\n1\n2.5\n", "0\n1\n2\n");
}

static void marks_and_metadata_stay_at_their_times(void **state) {
    static const char in[] = "# shot: quay-1\n# dose: 18 g\ntime [s],pressure [bar]\n0,1\n"
                             "# mark: knee id=k1 from=0.123 to=0.123\n1,2\n# note: odd\n2,3\n";
    feed result = feed_chain("resample --rate 1 --method linear", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "# mark: knee id=k1 from=0.123 to=0.123\n"));
    assert_non_null(strstr(result.out.bytes, "# note: odd\n"));
    assert_non_null(strstr(result.out.bytes, "# dose: 18 g\n"));
    assert_non_null(
        strstr(result.out.bytes, "# history: shot-resample --rate 1 --method linear\n"));
    assert_non_null(strstr(result.out.bytes, "\n0,1\n1,2\n2,3\n"));
    feed_free(&result);
}

/* The noise of the samples is remembered, once, whoever wrote it first; what was asked for has
 * none. */
static void noise_is_remembered(void **state) {
    shot_random random = shot_random_at(23, 0);
    shot_text in = {0};
    shot_text_add(&in, "time [s],pressure [bar],wanted.pressure [bar]\n");
    for (int i = 0; i < 500; i++) {
        shot_text_add_format(&in, "%d.%02d,", i / 100, i % 100);
        shot_text_add_number(&in, 9 + 0.05 * shot_random_normal(&random));
        shot_text_add(&in, ",9\n");
    }
    feed once = feed_chain("resample --rate 300", in.bytes, in.length, 0);
    const char *line = strstr(once.out.bytes, "# noise: pressure sd=");
    assert_non_null(line);
    /* a robust estimate of 500 samples scatters by 5 % */
    assert_true(fabs(strtod(line + 21, NULL) - 0.05) < 0.01);
    assert_null(strstr(once.out.bytes, "noise: wanted"));
    feed twice = feed_chain("resample --rate 300 | resample --rate 50", in.bytes, in.length, 0);
    line = strstr(twice.out.bytes, "# noise: pressure ");
    assert_non_null(line);
    assert_null(strstr(line + 1, "# noise: pressure "));
    feed_free(&once);
    feed_free(&twice);
    shot_text_free(&in);
}

/* Largest value in a column of a chain's output, away from the first and last `margin` seconds. */
static double largest(const char *chain, const shot_text *in, double margin, double end) {
    feed result = feed_chain(chain, in->bytes, in->length, 0);
    double worst = 0;
    assert_int_equal(result.status, SHOT_OK);
    for (char *line = strtok(result.out.bytes, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        char *rest;
        const double t = strtod(line, &rest);
        if (rest != line && *rest == ',' && t >= margin && t <= end - margin)
            worst = fmax(worst, fabs(strtod(rest + 1, NULL)));
    }
    feed_free(&result);
    return worst;
}

/* 100 Hz to 10 Hz: 7 Hz would fold to 3 Hz, 9.99 Hz to almost nothing, 50 Hz to nothing. */
static void what_would_fold_is_filtered_out(void **state) {
    const double tone[] = {5.2, 7, 9.99, 23, 49.9};
    for (size_t k = 0; k < sizeof tone / sizeof *tone; k++) {
        shot_text in = {0};
        shot_text_add(&in, "time [s],pressure [bar]\n");
        for (int i = 0; i <= 6000; i++) {
            char digits[SHOT_NUMBER_ROOM];
            shot_text_add_format(&in, "%d.%02d,", i / 100, i % 100);
            const double y = cos(2 * 3.14159265358979323846 * tone[k] * i / 100.0 + 0.3);
            shot_text_add_bytes(&in, digits, shot_number_write(digits, y));
            shot_text_add(&in, "\n");
        }
        /* -120 dB, and the band between 5 and 10 Hz of the nodes' own grid costs the short filter
         * nothing: -60 dB */
        assert_true(largest("resample --rate 10 --method sinc", &in, 9, 60) < 1e-6);
        assert_true(largest("resample --rate 10", &in, 1, 60) < 1.05e-3);
        assert_true(largest("resample --rate 10 --method linear", &in, 1, 60) < 1.05e-3);
        shot_text_free(&in);
    }
}

/* A step of 9 bar at 100 Hz, brought to 5 Hz: the monotone cubic stays within the samples on either
 * side of the new filter too, the band-limited signal swings. */
static void the_monotone_cubic_stays_monotone_where_the_rate_falls(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "time [s],pressure [bar]\n");
    for (int i = 0; i <= 1000; i++)
        shot_text_add_format(&in, "%d.%02d,%d\n", i / 100, i % 100, i > 503 ? 9 : 0);
    assert_true(largest("resample --rate 5", &in, 0, 10) == 9);
    assert_true(largest("resample --rate 5 --method sinc", &in, 0, 10) > 9.3);
    shot_text_free(&in);
}

/* Steps up of random size at random times, on uneven rows. */
static void add_stairs(shot_random *random, shot_text *in, double step, double chance) {
    double t = 0, weight = 0;
    shot_text_add(in, "time [s],weight [g]\n");
    for (int i = 0; i < 400; i++) {
        t += step * shot_random_between(random, 0.7, 1.3);
        weight += shot_random_chance(random, chance) ? shot_random_between(random, 0.1, 5) : 0;
        shot_text_add_format(in, "%.3f,%.2f\n", t, weight);
    }
}

static void expect_no_fall(const char *chain, const shot_text *in) {
    feed got = feed_chain(chain, in->bytes, in->length, 0);
    const char *line = strstr(got.out.bytes, "\ntime") + 1;
    double last = -1, value;
    assert_int_equal(got.status, SHOT_OK);
    while (*(line = strchr(line, '\n') + 1) != '#') {
        const char *comma = strchr(line, ',') + 1;
        assert_non_null(shot_number_read(comma, strchr(line, '\n'), &value));
        if (value < last)
            fail_msg("%s: %.17g falls to %.17g", chain, last, value);
        last = value;
    }
    feed_free(&got);
}

/* A weight that never falls does not begin to where the rate falls: exact, since the ranges to
 * which neighbouring rows are held do not overlap. */
static void what_never_falls_does_not_fall(void **state) {
    static const char *const chains[] = {"resample --rate 0.5", "resample --rate 1",
                                         "resample --rate 3", "resample --rate 7.3"};
    for (uint64_t seed = 1; seed <= 12; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text in = {0};
        add_stairs(&random, &in, seed % 3 == 0 ? 0.3 : 0.1, seed % 2 == 0 ? 0.02 : 0.2);
        for (size_t c = 0; c < sizeof chains / sizeof *chains; c++)
            expect_no_fall(chains[c], &in);
        shot_text_free(&in);
    }
}

/* A log as they come: jitter, two rates, holes, lost samples, a gap, spells of one channel only. */
static void add_log(shot_random *random, shot_text *in) {
    shot_text_add(in, "time [s],pressure [bar],weight [g],temperature [degC]\n");
    double t = shot_random_between(random, -1, 1);
    for (int i = 0; i < 400; i++) {
        t += 0.05 * exp(0.4 * shot_random_normal(random));
        t += shot_random_chance(random, 0.01) ? shot_random_between(random, 0, 3) : 0;
        shot_text_add_number(in, round(t * 1000) / 1000);
        for (int c = 0; c < 3; c++) {
            shot_text_add(in, ",");
            if (shot_random_chance(random, c == 0 ? 0.9 : c == 1 ? 0.4 : 0.03))
                shot_text_add_number(in, round(100 * shot_random_normal(random)) / 100);
        }
        shot_text_add(in, i % 97 == 50 ? "\n# mark: note from=1\n" : "\n");
    }
}

static void assert_blocks_do_not_matter(const char *chain, const shot_text *in) {
    static const size_t blocks[] = {7, 64, 4099};
    feed whole = feed_chain(chain, in->bytes, in->length, 0);
    assert_int_equal(whole.status, SHOT_OK);
    for (size_t b = 0; b < 3; b++) {
        feed parts = feed_chain(chain, in->bytes, in->length, blocks[b]);
        assert_string_equal(parts.out.bytes, whole.out.bytes);
        feed_free(&parts);
    }
    feed_free(&whole);
}

/* Samples at decimal steps, which are nodes but for the rounding of their times. */
static void nodes_on_samples_do_not_depend_on_blocks(void **state) {
    shot_random random = shot_random_at(12, 0);
    shot_text in = {0};
    shot_text_add(&in, "time [s],pressure [bar]\n");
    for (int i = 0; i < 600; i++) {
        shot_text_add_number(&in, 0.2 * (i + 1) - 0.001);
        shot_text_add(&in, ",");
        shot_text_add_number(&in, round(1000 * shot_random_normal(&random)) / 1000);
        shot_text_add(&in, "\n");
    }
    assert_blocks_do_not_matter("resample --rate 7 --method sinc", &in);
    shot_text_free(&in);
}

static void blocks_do_not_matter(void **state) {
    static const char *const chains[] = {
        "resample --rate 20 --method linear",
        "resample --rate 50",
        "resample --rate 3.7",
        "resample --rate 20 --method sinc",
        "resample --rate 4 --method sinc",
        "resample --step 0.033s --max-gap 2s",
        "resample --rate 7 --method linear --max-gap 1000s",
    };
    shot_random random = shot_random_at(10, 0);
    for (size_t k = 0; k < sizeof chains / sizeof *chains; k++) {
        shot_text in = {0};
        add_log(&random, &in);
        add_log(&random, &in);
        assert_blocks_do_not_matter(chains[k], &in);
        shot_text_free(&in);
    }
}

/* A clock that jumps by a day gives a day of empty rows and no memory for them. */
static void a_jump_of_the_clock_is_a_gap(void **state) {
    static const char in[] = "time [s],pressure [bar]\n0,1\n1,2\n2,3\n86400,4\n86401,5\n";
    feed result = feed_chain("resample --rate 1", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "\n2,3\n3,\n4,\n"));
    assert_non_null(strstr(result.out.bytes, "\n# end: rows=86402\n"));
    assert_non_null(strstr(result.out.bytes, "\n86399,\n86400,4\n86401,5\n# "));
    feed_free(&result);
}

/* A clock set while it ran must not fill the disk: what came before the jump comes out, however the
 * bytes arrived, and the jump is an error. */
static void a_jump_over_too_many_rows_is_an_error(void **state) {
    static const char in[] = "time,pressure\n0,1\n1,2\n2,3\n3,4\n1000000000,5\n1000000001,5\n";
    for (size_t block = 0; block < 60; block += 7) {
        feed result = feed_chain("resample --rate 1", in, strlen(in), block);
        assert_int_equal(result.status, SHOT_ERR_DATA);
        assert_string_equal(
            result.error.what,
            "shot '1': the time jumps from 3 to 1000000000 s, over 1e+09 rows of the grid; cut "
            "the log there, or choose a longer --step");
        assert_non_null(strstr(result.out.bytes, "\n0,1\n1,2\n2,3\n3,4\n"));
        assert_null(strstr(result.out.bytes, "# end:"));
        feed_free(&result);
    }
}

static void wrong_calls_are_refused(void **state) {
    static const char *const chains[] = {
        "resample --rate 20 --step 0.1s", "resample --rate 0",
        "resample --rate 20bar",          "resample --step -1s",
        "resample --method spline",       "resample --max-gap -1s"};
    for (size_t k = 0; k < sizeof chains / sizeof *chains; k++) {
        feed result = feed_chain(chains[k], RAMP, strlen(RAMP), 0);
        assert_int_equal(result.status, SHOT_ERR_USAGE);
        feed_free(&result);
    }
    static const char far[] = "time [s],pressure [bar]\n5000,1\n5001,2\n";
    feed result = feed_chain("resample --step 1e-9s", far, strlen(far), 0);
    assert_int_equal(result.status, SHOT_ERR_DATA);
    assert_non_null(strstr(result.error.what, "choose a longer --step"));
    feed_free(&result);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_grid_lies_at_multiples_of_the_step),
        cmocka_unit_test(straight_lines_stay_straight),
        cmocka_unit_test(each_channel_is_resampled_from_its_own_samples),
        cmocka_unit_test(a_gap_stays_missing),
        cmocka_unit_test(nothing_is_invented_where_a_channel_is_silent),
        cmocka_unit_test(marks_and_metadata_stay_at_their_times),
        cmocka_unit_test(noise_is_remembered),
        cmocka_unit_test(what_would_fold_is_filtered_out),
        cmocka_unit_test(the_monotone_cubic_stays_monotone_where_the_rate_falls),
        cmocka_unit_test(nodes_on_samples_do_not_depend_on_blocks),
        cmocka_unit_test(what_never_falls_does_not_fall),
        cmocka_unit_test(blocks_do_not_matter),
        cmocka_unit_test(a_jump_of_the_clock_is_a_gap),
        cmocka_unit_test(a_jump_over_too_many_rows_is_an_error),
        cmocka_unit_test(wrong_calls_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
