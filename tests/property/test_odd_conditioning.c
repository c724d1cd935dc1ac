/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: conditioning of odd shots gives what it would give of ordinary ones: clocks of
 * nanoseconds since 1970, steps of a microsecond, windows longer than the shot, orders that the
 * window cannot bear, channels that are missing, constant, or two samples long. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

static feed run(const char *chain, const char *in) {
    feed got = feed_chain(chain, in, strlen(in), 0);
    if (got.status != SHOT_OK)
        print_error("%s: %s\n", chain, got.error.what);
    assert_int_equal(got.status, SHOT_OK);
    return got;
}

/* A noisy ramp, 120 rows; `stamp` writes the time of a row. */
static shot_text ramp(const char *head, void (*stamp)(shot_text *, int)) {
    shot_text in = {0};
    shot_random random = shot_random_at(17, 1);
    shot_text_add(&in, head);
    for (int i = 0; i < 120; i++) {
        stamp(&in, i);
        shot_text_add_format(&in, ",%.3f\n", 3 + 0.04 * i + 0.1 * shot_random_normal(&random));
    }
    return in;
}

static void in_tenths(shot_text *in, int i) {
    shot_text_add_format(in, "%d.%d", i / 10, i % 10);
}

static void in_nanoseconds(shot_text *in, int i) {
    shot_text_add_format(in, "%lld", 1700000000000000000LL + 100000000LL * i);
}

static void in_microseconds(shot_text *in, int i) {
    shot_text_add_format(in, "0.%06d", i);
}

static const char *rows_of(const feed *got) {
    const char *header = strstr(got->out.bytes, "\ntime [s]");
    assert_non_null(header);
    return strchr(header + 1, '\n');
}

static const char *const chains[] = {
    "clean",
    "smooth --window 11 --order 3",
    "smooth --window 1.05s --taper",
    "smooth --method median --window 9",
    "smooth --method lowpass --cutoff 1Hz",
    "smooth --cutoff 1Hz",
    "diff --window 0.75s",
    "integrate --channel pressure --rule cubic",
    "resample --rate 4",
    "resample --rate 25 --method sinc",
};

/* The clock is subtracted from the text, so not a digit of the rows differs. */
static void epoch_clocks_lose_nothing(void **state) {
    shot_text near = ramp("time [s],pressure [bar]\n", in_tenths);
    shot_text far = ramp("time [ns],pressure [bar]\n", in_nanoseconds);
    for (size_t k = 0; k < sizeof chains / sizeof *chains; k++) {
        feed a = run(chains[k], near.bytes), b = run(chains[k], far.bytes);
        assert_string_equal(rows_of(&a), rows_of(&b));
        assert_non_null(strstr(b.out.bytes, "\n# t0: 1700000000\n"));
        feed_free(&a);
        feed_free(&b);
    }
    shot_text_free(&near);
    shot_text_free(&far);
}

/* The pressures of a trace, NaN where missing. */
static size_t pressures(const feed *got, size_t column, double *y, size_t most) {
    size_t n = 0;
    for (const char *row = rows_of(got) + 1; *row != '\0' && n < most;
         row = strchr(row, '\n') + 1) {
        if (*row == '#')
            continue;
        const char *field = row;
        for (size_t c = 0; c < column; c++)
            field = strchr(field, ',') + 1;
        y[n] = NAN;
        shot_number_read(field, strchr(row, '\n'), &y[n]);
        n++;
    }
    return n;
}

/* Steps of 1e-6 s instead of 0.1 s: windows a hundred thousand times shorter give the same values;
 * slopes as many times steeper.  Times differ in their last digits, and rounding makes
 * 1e-12 of them (the limits of running_fit.h). */
static void steps_of_a_microsecond_are_steps(void **state) {
    static const struct {
        const char *slow, *fast;
        size_t column;
        double factor;
    } pairs[] = {
        {"smooth --window 11 --order 3", "smooth --window 11 --order 3", 1, 1},
        {"smooth --window 1.05s --taper", "smooth --window 0.0000105s --taper", 1, 1},
        {"smooth --method lowpass --cutoff 1Hz", "smooth --method lowpass --cutoff 100000Hz", 1, 1},
        {"diff --window 0.75s", "diff --window 0.0000075s", 2, 1e5},
        {"integrate --channel pressure", "integrate --channel pressure", 2, 1e-5},
    };
    shot_text slow = ramp("time [s],pressure [bar]\n", in_tenths);
    shot_text fast = ramp("time [s],pressure [bar]\n", in_microseconds);
    for (size_t k = 0; k < sizeof pairs / sizeof *pairs; k++) {
        double a[120], b[120];
        feed one = run(pairs[k].slow, slow.bytes), other = run(pairs[k].fast, fast.bytes);
        assert_int_equal(pressures(&one, pairs[k].column, a, 120), 120);
        assert_int_equal(pressures(&other, pairs[k].column, b, 120), 120);
        for (size_t i = 0; i < 120; i++)
            assert_close(b[i] / pairs[k].factor, a[i], 1e-9);
        feed_free(&one);
        feed_free(&other);
    }
    shot_text_free(&slow);
    shot_text_free(&fast);
}

/* No value is guessed, and the note counts what is missing. */
static void windows_longer_than_the_shot_give_nothing(void **state) {
    static const char in[] = "time,pressure\n0,1\n1,2\n2,4\n3,4\n4,5\n";
    static const char *const long_ones[] = {"smooth --window 7", "smooth --window 100s",
                                            "smooth --window 999999999", "diff --window 9",
                                            "diff --window 50s --order 4"};
    for (size_t k = 0; k < sizeof long_ones / sizeof *long_ones; k++) {
        double y[8];
        feed got = run(long_ones[k], in);
        const size_t column = strncmp(long_ones[k], "diff", 4) == 0 ? 2 : 1;
        assert_int_equal(pressures(&got, column, y, 8), 5);
        for (size_t i = 0; i < 5; i++)
            assert_true(isnan(y[i]));
        assert_non_null(strstr(got.out.bytes, "5 of 5 samples are left without a value"));
        feed_free(&got);
    }
}

/* Where the count is known the call is refused; in a window of time the sample is missing. */
static void orders_above_the_window_are_refused(void **state) {
    static const char in[] = "time,pressure\n0,1\n1,2\n2,4\n3,4\n4,5\n";
    feed got = feed_chain("smooth --window 5 --order 5", in, strlen(in), 0);
    assert_int_equal(got.status, SHOT_ERR_USAGE);
    assert_string_equal(got.error.what,
                        "--window: 5 samples cannot determine a polynomial of order "
                        "5; choose a longer window or a lower --order");
    feed_free(&got);
    double y[8];
    got = run("smooth --window 2s --order 3", in);
    assert_int_equal(pressures(&got, 1, y, 8), 5);
    for (size_t i = 0; i < 5; i++)
        assert_true(isnan(y[i]));
    feed_free(&got);
}

static void missing_constant_and_short_channels(void **state) {
    static const char missing[] = "time,pressure,mood\n0,,1\n1,,2\n2,,3\n3,,4\n4,,5\n5,,5\n";
    static const char constant[] = "time,pressure\n0,9.1\n1,9.1\n2,9.1\n3,9.1\n4,9.1\n5,9.1\n";
    static const char two[] = "time,pressure\n0,3\n2,4\n";
    for (size_t k = 0; k < sizeof chains / sizeof *chains; k++) {
        double y[200];
        const bool adds = strncmp(chains[k], "diff", 4) == 0 || strncmp(chains[k], "int", 3) == 0;
        if (strstr(chains[k], "--cutoff 1Hz") != NULL) /* above half of one sample a second */
            continue;
        feed got = run(chains[k], missing);
        for (size_t i = pressures(&got, adds ? 3 : 1, y, 200); i-- > 0;)
            assert_true(isnan(y[i]));
        feed_free(&got);
        got = run(chains[k], constant);
        const bool resampled = strncmp(chains[k], "resample", 8) == 0;
        for (size_t i = pressures(&got, 1, y, 200); i-- > 0;)
            if (!isnan(y[i])) /* in a grid a kernel adds its own rounding */
                assert_close(y[i], 9.1, resampled ? 1e-12 : 0);
        feed_free(&got);
        got = run(chains[k], two);
        assert_non_null(strstr(got.out.bytes, "# close: shots=1\n"));
        feed_free(&got);
    }
}

/* An empty column of errors, or of results, says why. */
static void what_is_not_known_is_said(void **state) {
    static const struct {
        const char *chain, *in, *note;
    } cases[] = {
        {"smooth --window 1 --order 0 --errors", "time,pressure\n0,3\n2,4\n",
         "# note: shot-smooth: pressure: no standard errors: too few samples tell its noise\n"},
        {"derive --errors", "time,pressure,flow\n0,3,2\n2,4,2\n",
         "# note: shot-derive: no standard errors of what rests on pressure: too few samples tell "
         "its noise\n"},
        {"diff --window 3 --channel x", "time,x\n0,1e308\n0.1,2\n0.2,-1e308\n0.3,2\n0.4,2\n",
         "# note: shot-diff: x: 4 results are beyond the largest number, and are missing\n"},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        feed got = run(cases[k].chain, cases[k].in);
        if (strstr(got.out.bytes, cases[k].note) == NULL)
            fail_msg("%s: %s", cases[k].chain, got.out.bytes);
        feed_free(&got);
    }
}

/* Of 5000 rows a filter that remembers more than half has no errors, and says so. */
static void errors_that_cannot_be_weighed_are_said(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "# noise: pressure sd=0.1 corr=0s\ntime,pressure\n");
    for (int i = 0; i < 5000; i++)
        shot_text_add_format(&in, "%d.%02d,%d\n", i / 100, i % 100, i % 3);
    feed got = run("smooth --method lowpass --cutoff 0.1Hz --errors", in.bytes);
    assert_non_null(strstr(got.out.bytes, "\n# note: shot-smooth: pressure: 5000 values have no "
                                          "standard error: the filter remembers more rows than "
                                          "can be weighed\n"));
    feed_free(&got);
    got = run("smooth --method lowpass --cutoff 1Hz --errors", in.bytes);
    assert_null(strstr(got.out.bytes, "# note:"));
    feed_free(&got);
    shot_text_free(&in);
}

/* ---- every filter, every odd shot ---- */

typedef enum odd {
    ALL_MISSING,
    CONSTANT,
    TWO,
    ONE,
    NONE,
    SHORT,
    EPOCH,
    NANOSTEPS,
    MICROSTEPS,
    ODDS
} odd;

static void add_row(shot_text *in, odd kind, int i) {
    switch (kind) {
    case ALL_MISSING:
        shot_text_add_format(in, "%d,,,\n", i);
        return;
    case CONSTANT:
        shot_text_add_format(in, "%d.%d,9.1,2.3,20\n", i / 10, i % 10);
        return;
    case EPOCH:
        shot_text_add_format(in, "%lld", 1700000000000000000LL + 100000000LL * i);
        break;
    case NANOSTEPS:
        shot_text_add_format(in, "%lld", 1700000000000000000LL + i);
        break;
    case MICROSTEPS:
        in_microseconds(in, i);
        break;
    default:
        in_tenths(in, i);
    }
    shot_text_add_format(in, ",%.2f,%.2f,%.1f\n", 9 + sin(i), 2 + sin(i) / 5, i / 5.0);
}

static shot_text odd_shot(odd kind) {
    static const int rows[ODDS] = {60, 80, 2, 1, 0, 5, 80, 80, 80};
    shot_text in = {0};
    shot_text_add(&in, kind == EPOCH || kind == NANOSTEPS ? "time [ns]" : "time [s]");
    shot_text_add(&in, ",pressure [bar],flow [ml/s],weight [g]\n");
    for (int i = 0; i < rows[kind]; i++)
        add_row(&in, kind, i);
    return in;
}

static const char *const every_way[] = {
    "clean --zero pressure --replace --marks",
    "clean --zero pressure --keep --window 7",
    "smooth --errors",
    "smooth --window 21 --order 4 --taper --fill",
    "smooth --method median --window 100s",
    "smooth --method lowpass --cutoff 1Hz",
    "smooth --cutoff 1Hz",
    "diff --errors",
    "diff --derivative 3 --order 4",
    "integrate --channel flow --errors",
    "integrate --channel flow --rule cubic --max-gap 2s",
    "resample --errors",
    "resample --method sinc --errors",
    "resample --method linear --rate 3",
    "derive --errors",
    "align --channel flow",
    "align --channel weight --delay 0.3s",
};

/* What a filter cannot do with such a shot, by the beginning of its sentence. */
static const struct {
    const char *chain;
    odd kind;
    const char *what;
} refusals[] = {
    {"smooth --method lowpass --cutoff 1Hz", ALL_MISSING, "--cutoff: 1 Hz is not below half"},
    {"smooth --method lowpass --cutoff 1Hz", NANOSTEPS, "--cutoff: 1 Hz cannot be told from 0"},
    {"resample --errors", NANOSTEPS, "the samples are over a million times as dense"},
    {"resample --method sinc --errors", NANOSTEPS, "the samples are over a million times as"},
    {"resample --method linear --rate 3", NANOSTEPS, "the samples are over a million times as"},
    {"align --channel weight --delay 0.3s", TWO, "--delay: shot '1' lasts 0.1 s"},
    {"align --channel weight --delay 0.3s", NANOSTEPS, "--delay: shot '1' lasts 7.9e-08 s"},
    {"align --channel weight --delay 0.3s", MICROSTEPS, "--delay: shot '1' lasts 7.9e-05 s"},
};

static const char *refusal_of(const char *chain, odd kind) {
    for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++)
        if (strcmp(refusals[i].chain, chain) == 0 && refusals[i].kind == kind)
            return refusals[i].what;
    return NULL;
}

/* No number that is none, and as many rows as there were where no grid is made. */
static void check_rows(const char *chain, const feed *got, const shot_text *in) {
    size_t rows = 0, were = 0;
    for (const char *c = rows_of(got) + 1; *c != '\0'; c = strchr(c, '\n') + 1)
        rows += *c != '#';
    for (const char *c = in->bytes; (c = strchr(c, '\n')) != NULL; c++)
        were++;
    if (strncmp(chain, "resample", 8) != 0)
        assert_int_equal(rows, were - 1);
    if (strstr(rows_of(got), "nan") != NULL || strstr(rows_of(got), "inf") != NULL)
        fail_msg("%s: %s", chain, got->out.bytes);
}

static void every_filter_answers_every_odd_shot(void **state) {
    for (odd kind = ALL_MISSING; kind < ODDS; kind++) {
        shot_text in = odd_shot(kind);
        for (size_t k = 0; k < sizeof every_way / sizeof *every_way; k++) {
            const char *refusal = refusal_of(every_way[k], kind);
            feed got = feed_chain(every_way[k], in.bytes, in.length, 0);
            if (refusal != NULL && got.status == SHOT_ERR_DATA)
                assert_non_null(strstr(got.error.what, refusal));
            else if (refusal != NULL || got.status != SHOT_OK)
                fail_msg("%s, odd shot %d: %d %s", every_way[k], kind, got.status, got.error.what);
            else
                check_rows(every_way[k], &got, &in);
            feed_free(&got);
        }
        shot_text_free(&in);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(epoch_clocks_lose_nothing),
        cmocka_unit_test(steps_of_a_microsecond_are_steps),
        cmocka_unit_test(windows_longer_than_the_shot_give_nothing),
        cmocka_unit_test(orders_above_the_window_are_refused),
        cmocka_unit_test(missing_constant_and_short_channels),
        cmocka_unit_test(what_is_not_known_is_said),
        cmocka_unit_test(errors_that_cannot_be_weighed_are_said),
        cmocka_unit_test(every_filter_answers_every_odd_shot),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
