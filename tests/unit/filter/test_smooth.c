/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shot-smooth changes the channels asked for and nothing else, gives the same bytes
 * however the input is cut, remembers the noise, and says what it could not know. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>
#include <signal/pi.h>

static feed run(const char *chain, const char *text, size_t block) {
    feed result = feed_chain(chain, text, strlen(text), block);
    if (result.status != SHOT_OK)
        print_error("%s\n", result.error.what);
    assert_int_equal(result.status, SHOT_OK);
    return result;
}

static void check_out(const char *chain, const char *text, const char *want) {
    feed result = run(chain, text, 0);
    assert_string_equal(result.out.bytes, want);
    assert_string_equal(result.notices.bytes, "");
    feed_free(&result);
}

/* The example of scipy's savgol_filter: 58 111 124 100 23 6 35 140 315, over 35. A marked time, a
 * line and a channel that nobody knows pass unchanged. */
static void documented_vector(void **state) {
    static const char in[] = "# shot: a\n# dose: 18 g\ntime [s],pressure [bar],mood\n"
                             "0,2,1\n1,2,5\n# mark: note id=n1 from=1.5 to=1.5\n2,5,2\n3,2,\n"
                             "4,1,7\n5,0,1\n6,1,2\n7,4,3\n8,9,4\n# end: rows=9\n";
    feed result = run("smooth --window 5 --digits 12", in, 0);
    static const double want[] = {58, 111, 124, 100, 23, 6, 35, 140, 315};
    const char *row = strstr(result.out.bytes, "mood\n") + 5;
    for (int i = 0; i < 9; i++) {
        while (*row == '#')
            row = strchr(row, '\n') + 1;
        char *end;
        assert_true(strtol(row, &end, 10) == i);
        assert_close(strtod(end + 1, &end), want[i] / 35, 1e-11);
        row = strchr(row, '\n') + 1;
    }
    assert_non_null(
        strstr(result.out.bytes, "# dose: 18 g\n# history: shot-smooth --window 5 --digits 12\n"));
    assert_non_null(strstr(result.out.bytes, "# mark: note id=n1 from=1.5 to=1.5\n"));
    assert_non_null(strstr(result.out.bytes, ",7\n"));
    feed_free(&result);
}

/* A constant stays what it is to the last digit but one; missing stays missing, or is filled. */
static void missing_samples(void **state) {
    static const char in[] = "time,pressure\n0,1\n1,2\n2,\n3,4\n4,5\n5,6\n";
    check_out(
        "smooth --window 3 --order 1 --channel pressure --digits 6", in,
        "# shot: 1\n# history: shot-smooth --channel pressure --window 3 --order 1 --digits 6\n"
        "time [s],pressure [bar]\n0,1\n1,2\n2,\n3,4\n4,5\n5,6\n"
        "# noise: pressure sd=0.2887 corr=0s\n# end: rows=6\n# close: shots=1\n");
    check_out("smooth --window 3 --order 1 --fill --digits 6", in,
              "# shot: 1\n# history: shot-smooth --window 3 --order 1 --fill --digits 6\n"
              "time [s],pressure [bar]\n0,1\n1,2\n2,3\n3,4\n4,5\n5,6\n"
              "# noise: pressure sd=0.2887 corr=0s\n# end: rows=6\n# close: shots=1\n");
}

/* Rounding of the sums would print 8.88e-16 for a flow of nothing; and a slope of nothing is 0.  In
 * a window that holds anything else the value is what the sums give. */
static void constant_windows_give_the_constant(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "time,flow,pressure\n");
    for (int i = 0; i < 60; i++) /* uneven times: the sliding sums */
        shot_text_add_format(&in, "%.2f,%s,0.1\n", i / 10.0 + (i % 3) * 0.01, i < 30 ? "0" : "1.7");
    feed result = run("smooth --window 7 | diff --window 5 --channel pressure", in.bytes, 0);
    size_t row = 0;
    for (const char *line = strstr(result.out.bytes, "bar/s]\n") + 7; *line != '\0';
         line = strchr(line, '\n') + 1) {
        const char *values = strchr(line, ',');
        if (*line == '#')
            continue;
        if (row < 27)
            assert_memory_equal(values, ",0,0.1,0\n", 9);
        if (row > 32)
            assert_memory_equal(values, ",1.7,0.1,0\n", 11);
        row++;
    }
    assert_int_equal(row, 60);
    feed_free(&result);
    shot_text_free(&in);
}

/* Numbers so large that their noise has none: no line rather than an empty one. */
static void noise_beyond_numbers_is_not_told(void **state) {
    feed result = run("smooth --window 3 --channel x",
                      "time,x\n0,1e308\n1,-1e308\n2,1e308\n3,-1.5e308\n4,1e308\n5,-1e308\n", 0);
    assert_null(strstr(result.out.bytes, "# noise:"));
    feed_free(&result);
}

/* What cannot be smoothed is no reason to lose the shot: its rows come, the channel missing, the
 * same however they arrived. */
static void a_failure_hands_on_the_rows(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "time,pressure,weight\n");
    for (int i = 0; i < 40; i++)
        shot_text_add_format(&in, "%.2f,%d,%d\n", i / 10.0 + (i == 20) * 0.03, i % 4, i);
    static const char *const chains[] = {
        "smooth --channel pressure --method lowpass --cutoff 1Hz",
        "smooth --channel pressure --cutoff 50Hz",
    };
    for (size_t c = 0; c < sizeof chains / sizeof *chains; c++) {
        feed whole = feed_chain(chains[c], in.bytes, in.length, 0);
        assert_int_equal(whole.status, SHOT_ERR_DATA);
        assert_non_null(strstr(whole.out.bytes, "\n0,,0\n0.1,,1\n"));
        assert_non_null(strstr(whole.out.bytes, "\n3.9,,39\n"));
        assert_null(strstr(whole.out.bytes, "# end:"));
        for (size_t block = 1; block < 200; block += 33) {
            feed cut = feed_chain(chains[c], in.bytes, in.length, block);
            assert_string_equal(cut.out.bytes, whole.out.bytes);
            feed_free(&cut);
        }
        feed_free(&whole);
    }
    shot_text_free(&in);
}

static void medians(void **state) {
    check_out("smooth --method median --window 3", "time,pressure\n0,1\n1,9\n2,2\n3,3\n4,\n5,4\n",
              "# shot: 1\n# history: shot-smooth --window 3 --method median\n"
              "time [s],pressure [bar]\n0,5\n1,2\n2,3\n3,3\n4,\n5,3.5\n"
              "# noise: pressure sd=0.2887 corr=0s\n# end: rows=6\n# close: shots=1\n");
}

/* Rows of a sine of that frequency at 50 Hz, and the largest value of the middle half of what a
 * chain makes of it. */
static double amplitude_after(const char *chain, double frequency) {
    shot_text in = {0};
    shot_text_add(&in, "time,pressure\n");
    for (int i = 0; i < 1000; i++)
        shot_text_add_format(&in, "%.2f,%.9f\n", 0.02 * i, sin(2 * SHOT_PI * frequency * 0.02 * i));
    feed result = run(chain, in.bytes, 0);
    double most = 0;
    for (const char *row = strstr(result.out.bytes, "\n5,"); *++row != '#';
         row = strchr(row, '\n')) {
        char *end;
        const double t = strtod(row, &end);
        most = t > 5 && t < 15 ? fmax(most, strtod(end + 1, NULL)) : most;
    }
    feed_free(&result);
    shot_text_free(&in);
    return most;
}

/* At the cut-off half of the power is left, 0.707 of the amplitude: exactly for the low-pass; for
 * savgol as near as a whole number of samples comes (fc 2 Hz at 50 Hz is a window of 27, which has
 * 1.975 Hz), found with an amplitude of 1000 samples (1 % of it missed between them). */
static void cutoff_means_half_power(void **state) {
    assert_close(amplitude_after("smooth --method lowpass --cutoff 2Hz", 2), sqrt(0.5), 0.01);
    assert_close(amplitude_after("smooth --method lowpass --cutoff 2Hz --order 5", 2), sqrt(0.5),
                 0.01);
    assert_close(amplitude_after("smooth --cutoff 2Hz", 2), sqrt(0.5), 0.03);
    assert_close(amplitude_after("smooth --cutoff 2Hz --order 4", 2), sqrt(0.5), 0.03);
    assert_true(amplitude_after("smooth --method lowpass --cutoff 2Hz", 0.5) > 0.98);
    /* 1 / (1 + (tan(0.2 pi) / tan(0.04 pi))^4 (sqrt 2 - 1)), seen at 5 samples a period */
    assert_close(amplitude_after("smooth --method lowpass --cutoff 2Hz", 10),
                 sin(0.4 * SHOT_PI) /
                     (1 + pow(tan(0.2 * SHOT_PI) / tan(0.04 * SHOT_PI), 4) * (sqrt(2) - 1)),
                 1e-6);
}

/* Stretches between missing rows are filtered one by one, short ones become missing. */
static void lowpass_keeps_lines_and_holes(void **state) {
    check_out("smooth --method lowpass --cutoff 1 --order 1 --digits 6",
              "time,pressure\n0,1\n0.1,2\n0.2,3\n0.3,4\n0.4,5\n0.5,\n0.6,7\n0.7,8\n",
              "# shot: 1\n"
              "# history: shot-smooth --cutoff 1 --order 1 --method lowpass --digits 6\n"
              "time [s],pressure [bar]\n0,1\n0.1,2\n0.2,3\n0.3,4\n0.4,5\n0.5,\n0.6,\n0.7,\n"
              "# noise: pressure sd=0.2887 corr=0s\n"
              "# note: shot-smooth: pressure: 2 of 7 samples are left without a value: too few "
              "between missing ones\n# end: rows=8\n# close: shots=1\n");
}

static void what_has_no_value_is_counted(void **state) {
    static const char in[] = "time,pressure\n0,1\n1,2\n";
    feed result = run("smooth --window 5", in, 0);
    assert_non_null(strstr(result.out.bytes, "\n0,\n1,\n"));
    assert_non_null(
        strstr(result.out.bytes,
               "# note: shot-smooth: pressure: 2 of 2 samples are left "
               "without a value: too few in the window, or the shot is shorter than it\n"));
    feed_free(&result);
    result = run("smooth", "time,mood\n0,1\n1,2\n", 0);
    assert_non_null(strstr(result.out.bytes, "# note: shot-smooth: no measured channel among those "
                                             "known; name one with --channel\n"));
    feed_free(&result);
}

/* ---- noise and errors ---- */

static shot_text noisy_shot(double sd, bool line, uint64_t index) {
    shot_text text = {0};
    shot_random random = shot_random_at(17, index);
    shot_text_add(&text, line ? "# noise: pressure sd=0.05 corr=0s\n" : "");
    shot_text_add(&text, "time [s],pressure [bar]\n");
    for (int i = 0; i < 400; i++) {
        const double t = 0.05 * i + 0.01 * shot_random_uniform(&random);
        shot_text_add_format(&text, "%.4f,%.6f\n", t,
                             3 + 0.4 * t - 0.01 * t * t + sd * shot_random_normal(&random));
    }
    return text;
}

/* The noise is remembered once: a second smoother leaves the line of the first. */
static void noise_is_remembered_once(void **state) {
    shot_text in = noisy_shot(0.05, false, 0);
    feed result = run("smooth | smooth --window 1s", in.bytes, 0);
    const char *line = strstr(result.out.bytes, "# noise: pressure sd=");
    assert_non_null(line);
    /* 400 samples: the robust estimate scatters by 6 % */
    assert_close(strtod(line + 21, NULL), 0.05, 0.05 * 0.2);
    feed_free(&result);
    shot_text_free(&in);
}

/* What shot-resample interpolated tells no sensor's noise: where it told none, the samples were too
 * few. What was derived behind it, or joined, has been told by nobody. */
static void noise_is_not_taken_from_interpolated_samples(void **state) {
    static const char few[] = "time [s],pressure [bar]\n0,1\n1,1.5\n2,2.5\n3,2\n";
    static const char joined[] =
        "# history: shot-resample --rate 10\n# history: shot-join --log scale.csv\n"
        "time [s],pressure [bar],outflow [g/s]\n0,1,1\n1,1.5,2\n2,2.5,1\n3,2,2\n4,2,1\n5,2,2\n"
        "# end: rows=6\n# close: shots=1\n";
    feed result = run("resample --rate 10 | clean | smooth --window 0.5s", few, 0);
    assert_non_null(strstr(result.out.bytes, "# end: rows=31"));
    assert_null(strstr(result.out.bytes, "# noise:"));
    feed_free(&result);
    result = run("smooth --window 2s", joined, 0);
    assert_non_null(strstr(result.out.bytes, "# noise: pressure sd="));
    feed_free(&result);
    shot_text derived = {0};
    shot_text_add(&derived, joined);
    memcpy(strstr(derived.bytes, "shot-join --log scale.csv"), "shot-derive              ", 25);
    result = run("smooth --window 2s", derived.bytes, 0);
    assert_null(strstr(result.out.bytes, "# noise: pressure"));
    assert_non_null(strstr(result.out.bytes, "# noise: outflow sd="));
    feed_free(&result);
    shot_text_free(&derived);
}

/* In a polynomial of the fit's degree 95 % of the intervals hold the truth: over 40 shots of 400
 * correlated results the share lies within 93 to 97 %. */
static void errors_cover(void **state) {
    size_t rows = 0, held = 0;
    for (uint64_t index = 0; index < 40; index++) {
        shot_text in = noisy_shot(0.05, index % 2, index);
        feed result = run("smooth --window 0.7s --errors", in.bytes, 0);
        const char *row = strstr(result.out.bytes, "pressure.se [bar]\n");
        assert_non_null(row);
        for (row = strchr(row, '\n') + 1; *row != '#'; row = strchr(row, '\n') + 1, rows++) {
            char *end;
            const double t = strtod(row, &end), value = strtod(end + 1, &end),
                         se = strtod(end + 1, &end);
            held += fabs(value - (3 + 0.4 * t - 0.01 * t * t)) < 1.96 * se;
        }
        feed_free(&result);
        shot_text_free(&in);
    }
    assert_int_equal(rows, 16000);
    assert_true((double)held / (double)rows > 0.93 && (double)held / (double)rows < 0.97);
}

static void errors_of_correlated_samples_are_not_given(void **state) {
    shot_text in = noisy_shot(0.05, false, 3);
    feed result = run("smooth | smooth --errors", in.bytes, 0);
    assert_null(strstr(result.out.bytes, "pressure.se"));
    assert_non_null(strstr(result.out.bytes,
                           "# note: shot-smooth: no standard errors, since the errors of samples "
                           "that went through shot-smooth depend on each other\n"));
    feed_free(&result);
    shot_text_free(&in);
}

/* ---- blocks, several shots, wrong calls ---- */

static void blocks_carry_no_meaning(void **state) {
    static const char *const chains[] = {
        "smooth",
        "smooth --window 11 --order 3 --fill",
        "smooth --window 0.5s --taper --errors",
        "smooth --method median --window 0.5s",
        "smooth --cutoff 1.5Hz",
        "resample --rate 10 | smooth --method lowpass --cutoff 1.5Hz",
    };
    shot_text in = noisy_shot(0.05, false, 5), other = noisy_shot(0.2, true, 6);
    shot_text_add(&in, other.bytes);
    shot_text_add(&in, "time,flow,pressure\n0,1,2\n0.1,2,\n0.2,1,2\n0.35,2,3\n0.4,,3\n");
    for (size_t c = 0; c < sizeof chains / sizeof *chains; c++) {
        feed whole = run(chains[c], in.bytes, 0);
        for (size_t block = 1; block < 3000; block = 3 * block + 4) {
            feed cut = run(chains[c], in.bytes, block);
            assert_string_equal(cut.out.bytes, whole.out.bytes);
            feed_free(&cut);
        }
        feed_free(&whole);
    }
    shot_text_free(&in);
    shot_text_free(&other);
}

static void wrong_calls(void **state) {
    static const struct {
        const char *chain, *what;
        shot_status status;
    } known[] = {
        {"smooth --window 10",
         "--window: 10 is an even count; give an odd one, with as many samples before the middle "
         "as "
         "after it",
         SHOT_ERR_USAGE},
        {"smooth --window 3 --order 3",
         "--window: 3 samples cannot determine a polynomial of order 3; choose a longer window or "
         "a "
         "lower --order",
         SHOT_ERR_USAGE},
        {"smooth --method median --errors", "--errors: only with --method savgol or lowpass",
         SHOT_ERR_USAGE},
        {"smooth --cutoff 3 --method median", "--cutoff: only with --method savgol or lowpass",
         SHOT_ERR_USAGE},
        {"smooth --method lowpass", "--method lowpass: give a --cutoff and an --order of 1 or more",
         SHOT_ERR_USAGE},
        {"smooth --method lowpass --cutoff 0.6",
         "shot '1': --cutoff: 0.6 Hz is not below half of the 1 rows a second", SHOT_ERR_DATA},
        {"smooth --cutoff 0.4",
         "shot '1': --cutoff: no window of order 2 passes up to 0.4 Hz at 1 samples a second; "
         "choose a lower frequency or a higher --order",
         SHOT_ERR_DATA},
        {"smooth --channel time", "the time itself is no channel; name another", SHOT_ERR_USAGE},
    };
    static const char in[] = "time,pressure\n0,1\n1,2\n";
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        feed result = feed_chain(known[i].chain, in, strlen(in), 0);
        assert_int_equal(result.status, known[i].status);
        assert_string_equal(result.error.what, known[i].what);
        feed_free(&result);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(documented_vector),
        cmocka_unit_test(missing_samples),
        cmocka_unit_test(constant_windows_give_the_constant),
        cmocka_unit_test(noise_beyond_numbers_is_not_told),
        cmocka_unit_test(a_failure_hands_on_the_rows),
        cmocka_unit_test(medians),
        cmocka_unit_test(cutoff_means_half_power),
        cmocka_unit_test(lowpass_keeps_lines_and_holes),
        cmocka_unit_test(what_has_no_value_is_counted),
        cmocka_unit_test(noise_is_remembered_once),
        cmocka_unit_test(noise_is_not_taken_from_interpolated_samples),
        cmocka_unit_test(errors_cover),
        cmocka_unit_test(errors_of_correlated_samples_are_not_given),
        cmocka_unit_test(blocks_carry_no_meaning),
        cmocka_unit_test(wrong_calls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
