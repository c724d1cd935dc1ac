/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: two logs become one without a sample lost or invented, on one clock, which is found
 * within its interval or not at all. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char *file_of(const char *text) {
    char *name = shot_text_copy("/tmp/shot-join-XXXXXX");
    const int file = mkstemp(name);
    assert_true(file >= 0);
    assert_int_equal(write(file, text, strlen(text)), (ssize_t)strlen(text));
    close(file);
    return name;
}

static feed join(const char *options, const char *a, const char *b) {
    char *file_a = file_of(a), *file_b = file_of(b);
    shot_text chain = {0};
    shot_text_add_format(&chain, "join %s %s %s", options, file_a, file_b);
    feed got = feed_chain(chain.bytes, "", 0, 0);
    shot_text_free(&chain);
    unlink(file_a);
    unlink(file_b);
    free(file_a);
    free(file_b);
    return got;
}

static const char gauge[] = "# shot: g\n# dose: 18 g\n# noise: pressure sd=0.1 corr=0s\n"
                            "time,pressure\n0,1\n0.1,2\n0.2,3\n"
                            "# mark: first-drip id=fd1 from=0.1 to=0.1\n";
static const char scale[] = "# shot: s\n# dose: 20 g\n# scale.lag: 0.3 s\n# t0: 500.05\n"
                            "# noise: weight sd=0.2 corr=0s\n# noise: pressure sd=9 corr=0s\n"
                            "time,weight,pressure\n0,0,7\n0.05,1,8\n0.4,5,9\n"
                            "# mark: first-drip id=fd1 from=0.05 to=0.05\n"
                            "# mark: first-drip id=x from=0.05 to=0.06 refines=fd1\n";

/* 500.05 s - 500 s: the first row of the scale is at 0.05 s of the gauge. */
static void channels_keep_their_own_times(void **state) {
    feed got = join("--offset -500s", gauge, scale);
    assert_int_equal(got.status, SHOT_OK);
    assert_string_equal(
        got.out.bytes,
        "# shot: g\n# dose: 18 g\n# noise: pressure sd=0.1 corr=0s\n# scale.lag: 0.3 s\n"
        "# noise: weight sd=0.2 corr=0s\n# history: shot-join --offset -500s\n"
        "time [s],pressure [bar],weight [g],pressure.2 "
        "[bar]\n0,1,,\n0.05,,0,7\n0.1,2,1,8\n0.2,3,,\n"
        "0.45,,5,9\n# mark: first-drip id=fd1 from=0.1 to=0.1\n"
        "# mark: first-drip id=fd2 from=0.1 to=0.1\n"
        "# mark: first-drip id=x from=0.1 to=0.11 refines=fd2\n# end: rows=5\n# close: shots=1\n");
    feed_free(&got);
}

static void by_a_common_mark(void **state) {
    feed got = join("--mark first-drip", gauge, scale);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, "\n0.05,,0,7\n0.1,2,1,8\n"));
    feed_free(&got);
    got = join("--mark brew", gauge, scale);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    assert_non_null(strstr(got.error.what, "the first log has no mark 'brew'"));
    feed_free(&got);
}

/* The cubic goes through the samples and, through three in a line, along it; nothing is put in
 * beyond the ends. */
static void filled_when_asked(void **state) {
    feed got = join("--digits 6 --offset 0.05s --fill", "time,pressure\n0,1\n0.1,2\n0.2,3\n",
                    "time,weight\n0,0\n0.1,2\n0.2,4\n");
    assert_non_null(strstr(got.out.bytes, "weight [g]\n0,1,\n0.05,1.5,0\n0.1,2,1\n0.15"));
    feed_free(&got);
}

/* A shot of both as text: pressure and weight of a shot, at times shifted by `late`. */
static shot_text made(bool pressure, bool weight, double late, double rate) {
    shot_text text = {0};
    shot_text_add_format(&text, "time%s%s\n", pressure ? ",pressure" : "", weight ? ",weight" : "");
    for (int i = 0; i < (int)(40 * rate); i++) {
        const double t = i / rate;
        const double p = t < 5    ? 0
                         : t < 30 ? 9 * (1 - exp(-(t - 5) / 0.5)) - 0.05 * (t - 5)
                                  : 7.75 * exp(-(t - 30) / 0.2);
        const double w = t < 12 ? 0 : t < 30.6 ? 2 * (t - 12) : 37.2;
        shot_text_add_format(&text, "%.3f", t + late);
        if (pressure)
            shot_text_add_format(&text, ",%.3f", p);
        if (weight)
            shot_text_add_format(&text, ",%.2f", w);
        shot_text_add(&text, "\n");
    }
    return text;
}

static void noted(const feed *got, double *offset, double *low, double *high) {
    const char *note = strstr(got->out.bytes, "second clock was put ");
    assert_non_null(note);
    assert_int_equal(sscanf(note, "second clock was put %lf s later (95 %% interval %lf to %lf)",
                            offset, low, high),
                     3);
}

/* Both have a gauge: the course tells, to a fraction of the spacing of the samples. */
static void found_by_what_both_have(void **state) {
    shot_text a = made(true, false, 0, 20), b = made(true, true, -7.345, 10);
    double offset, low, high;
    feed got = join("", a.bytes, b.bytes);
    assert_int_equal(got.status, SHOT_OK);
    noted(&got, &offset, &low, &high);
    assert_close(offset, 7.345, 0.02); /* a fifth of the finer spacing */
    assert_true(low <= 7.345 && 7.345 <= high);
    feed_free(&got);
    shot_text_free(&a);
    shot_text_free(&b);
}

/* A gauge and a scale: the end of the shot tells, within what lies between the two. */
static void found_by_the_end_of_the_shot(void **state) {
    shot_text a = made(true, false, 0, 20), b = made(false, true, 31, 10);
    double offset, low, high;
    for (int turned = 0; turned < 2; turned++) {
        feed got = turned ? join("", b.bytes, a.bytes) : join("", a.bytes, b.bytes);
        assert_int_equal(got.status, SHOT_OK);
        noted(&got, &offset, &low, &high);
        const double truth = turned ? 31 : -31;
        assert_true(low <= truth && truth <= high);
        assert_true(high - low < 2.5);
        feed_free(&got);
    }
    shot_text_free(&a);
    shot_text_free(&b);
}

static void where_nothing_tells_it_refuses(void **state) {
    feed got = join("", "time,pressure\n0,0\n1,9\n2,9\n", "time,temperature\n0,90\n1,91\n");
    assert_int_equal(got.status, SHOT_ERR_DATA);
    assert_non_null(strstr(got.error.what, "--offset"));
    feed_free(&got);
    got = join("", "time,pressure\n0,0\n1,0\n2,0\n", "time,pressure\n0,0\n1,0\n");
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
}

/* The length of such a log is beyond all numbers, and so was the step of the grid. */
static void a_clock_without_end_tells_nothing(void **state) {
    feed got = join("", "time,pressure\n0,0\n1,9\n2,9\n",
                    "time [s],pressure [bar]\n-1e308,0\n0,9\n1e308,9\n");
    assert_int_equal(got.status, SHOT_ERR_DATA);
    assert_non_null(strstr(got.error.what, "--offset"));
    feed_free(&got);
}

static void wrong_calls(void **state) {
    feed got = join("--offset 1s --mark brew", gauge, scale);
    assert_int_equal(got.status, SHOT_ERR_USAGE);
    feed_free(&got);
    got = feed_chain("join one.csv", "", 0, 0);
    assert_int_equal(got.status, SHOT_ERR_USAGE);
    feed_free(&got);
    got = join("--offset 1s", gauge, "time,weight\n0,1\n1,2\ntime,weight\n0,1\n1,2\n");
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(channels_keep_their_own_times),
        cmocka_unit_test(by_a_common_mark),
        cmocka_unit_test(filled_when_asked),
        cmocka_unit_test(found_by_what_both_have),
        cmocka_unit_test(found_by_the_end_of_the_shot),
        cmocka_unit_test(where_nothing_tells_it_refuses),
        cmocka_unit_test(a_clock_without_end_tells_nothing),
        cmocka_unit_test(wrong_calls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
