/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a ripple found at its frequency with an interval that covers, in its span, on even and
 * uneven rows; the mains recognised behind a folded line; silence where there is none; rounding
 * that is no ripple; reasons; and the table. */
#include <support/feed.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include <shottrace/signal/random.h>

static const double TWO_PI = 6.283185307179586;

typedef struct log_of {
    double rate, jitter; /* Hz, of the interval */
    double amplitude, frequency, from, to;
    double noise, step;
} log_of;

/* A shot of 30 s: ramp, slow decline, release, with a ripple in between. */
static double shot_at(double t) {
    if (t < 5)
        return 1.8 * t;
    return t < 27 ? 9 - 0.05 * (t - 5) : fmax(0, 7.9 - 8 * (t - 27));
}

static void write_log(log_of l, shot_random *random, shot_text *in) {
    const double phase = shot_random_uniform(random);
    shot_text_add(in, "time [s],pressure [bar]\n");
    for (int i = 0; i < 30 * l.rate; i++) {
        const double t =
            round(1e4 * (i + l.jitter * shot_random_between(random, -1, 1)) / l.rate) / 1e4;
        double y = shot_at(t) + l.noise * shot_random_normal(random);
        if (t >= l.from && t < l.to)
            y += l.amplitude * sin(TWO_PI * (l.frequency * t + phase));
        shot_text_add_number(in, t);
        shot_text_add(in, ",");
        shot_text_add_number(in, l.step > 0 ? round(y / l.step) * l.step : y);
        shot_text_add(in, "\n");
    }
}

typedef struct found {
    int marks;
    double from, to, value, low, high;
    double from_low, from_high, to_low, to_high;
} found;

static double number_behind(const char *mark, const char *key) {
    const char *place = strstr(mark, key);
    return place != NULL ? strtod(place + strlen(key), NULL) : NAN;
}

static found look(const char *chain, log_of l, shot_random *random, const char *wanted_note) {
    shot_text in = {0};
    write_log(l, random, &in);
    feed result = feed_chain(chain, in.bytes, in.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    const char *mark = strstr(result.out.bytes, "# mark: ripple ");
    found f = {0};
    if (mark != NULL)
        f = (found){1 + (strstr(mark + 1, "# mark: ripple ") != NULL),
                    number_behind(mark, " from="),
                    number_behind(mark, " to="),
                    number_behind(mark, " value="),
                    number_behind(mark, "value.low="),
                    number_behind(mark, "value.high="),
                    number_behind(mark, "from.low="),
                    number_behind(mark, "from.high="),
                    number_behind(mark, "to.low="),
                    number_behind(mark, "to.high=")};
    if (wanted_note != NULL && (mark == NULL || strstr(mark, wanted_note) == NULL)) {
        print_error("no '%s' in %s\n", wanted_note, mark ? mark : result.out.bytes);
        fail();
    }
    feed_free(&result);
    shot_text_free(&in);
    return f;
}

/* 100 shots each: found in all but a few, once; the 95 % interval covers in 90 % at least (95 less
 * three standard deviations of such a share is 88), and so do those of the span's edges, weak
 * ripple and strong, also where the pressure falls at its end. */
static void a_ripple_is_found_with_its_interval_and_span(void **state) {
    const log_of logs[] = {
        {.rate = 50, .jitter = 0, .amplitude = 0.1, .frequency = 7.3, .noise = 0.1},
        {.rate = 50, .jitter = 0.3, .amplitude = 0.1, .frequency = 7.3, .noise = 0.1},
        {.rate = 20, .jitter = 0.1, .amplitude = 0.1, .frequency = 4.1, .noise = 0.05},
        {.rate = 10, .jitter = 0, .amplitude = 0.1, .frequency = 3.3, .noise = 0.04},
        {.rate = 50, .jitter = 0.1, .amplitude = 0.2, .frequency = 12.3, .noise = 0.03},
        {.rate = 50, .jitter = 0.1, .amplitude = 0.2, .frequency = 12.3, .noise = 0.08},
        {.rate = 200, .jitter = 0, .amplitude = 0.1, .frequency = 49.7, .noise = 0.06},
        {.rate = 200, .jitter = 0, .amplitude = 0.1, .frequency = 49.7, .noise = 0.1},
        {.rate = 1000, .jitter = 0, .amplitude = 0.2, .frequency = 50.1, .noise = 0.03},
    };
    for (size_t k = 0; k < sizeof logs / sizeof *logs; k++) {
        shot_random random = shot_random_at(17, k);
        int seen = 0, covered = 0, edges = 0;
        double width = 0;
        log_of l = logs[k];
        l.from = 7;
        l.to = 27; /* and there the pressure falls */
        for (int run = 0; run < 100; run++) {
            const found f = look("spectrum", l, &random, NULL);
            assert_true(f.marks <= 1);
            if (f.marks == 0)
                continue;
            seen++;
            covered += f.low <= l.frequency && l.frequency <= f.high; /* at six digits */
            edges += f.from_low < l.from && l.from < f.from_high;
            edges += f.to_low < l.to && l.to < f.to_high;
            width += (f.from_high - f.from_low + f.to_high - f.to_low) / 200;
        }
        print_message("%g Hz, jitter %g: found %d, covered %d, edges %d, width %.3f s\n", l.rate,
                      l.jitter, seen, covered, edges, width);
        assert_true(seen >= 90);
        assert_true(covered >= 0.88 * seen);
        assert_true(edges >= 0.88 * 2 * seen);
    }
}

/* At 1 % a shot: 4 of 100 are exceeded with a probability of 0.3 % (binomial). */
static void without_a_ripple_nothing_is_found(void **state) {
    const log_of logs[] = {{.rate = 50, .noise = 0.1},
                           {.rate = 50, .jitter = 0.3, .noise = 0.1},
                           {.rate = 10, .jitter = 0.1, .noise = 0.05, .step = 0.1},
                           {.rate = 100, .noise = 0.01, .step = 0.01}};
    for (size_t k = 0; k < sizeof logs / sizeof *logs; k++) {
        shot_random random = shot_random_at(18, k);
        int alarms = 0;
        for (int run = 0; run < 100; run++)
            alarms += look("spectrum --mains 50Hz", logs[k], &random, NULL).marks;
        print_message("%g Hz, jitter %g: %d false alarms\n", logs[k].rate, logs[k].jitter, alarms);
        assert_true(alarms <= 4);
    }
}

static void the_mains_are_named_behind_a_folded_line(void **state) {
    shot_random random = shot_random_at(19, 0);
    const log_of slow = {.rate = 22, .amplitude = 0.1, .frequency = 50.02, .to = 30, .noise = 0.02};
    const found f = look("spectrum --mains 50Hz", slow, &random,
                         "mains at 50.02 Hz folded by 22 samples a second");
    assert_close(f.value, 50.02 - 2 * 22, 0.01);
    const log_of quick = {
        .rate = 200, .amplitude = 0.1, .frequency = 59.9, .to = 30, .noise = 0.02};
    look("spectrum --mains 60Hz", quick, &random, "mains at 59.9 Hz\"");
    look("spectrum --mains 50Hz", quick, &random, "not the mains of 50 Hz");
    const log_of twice = {.rate = 70, .amplitude = 0.1, .frequency = 100, .to = 30, .noise = 0.02};
    look("spectrum --mains 50Hz", twice, &random, "twice mains at 50 Hz folded by 70 samples");
}

/* Rows at 12 Hz with a jitter of 10 % tell 50 Hz from the 2 Hz that an even grid would fold it to;
 * the interval covers in 90 of 100 shots at least, of those in which it is found. */
static void uneven_rows_see_above_half_their_rate(void **state) {
    shot_random random = shot_random_at(24, 0);
    int seen = 0, covered = 0;
    for (int run = 0; run < 100; run++) {
        const log_of l = {.rate = 12,
                          .jitter = 0.1,
                          .amplitude = 0.2,
                          .frequency = 50.03,
                          .from = 5,
                          .to = 27,
                          .noise = 0.05};
        const found f = look("spectrum --mains 50Hz", l, &random, NULL);
        seen += f.marks > 0 && fabs(f.value - 50.03) < 0.2;
        covered += f.marks > 0 && f.low < 50.03 && 50.03 < f.high;
    }
    print_message("found %d, covered %d\n", seen, covered);
    assert_true(seen >= 80);
    assert_true(covered >= 0.88 * seen);
    const log_of clear = {
        .rate = 12, .jitter = 0.1, .amplitude = 0.3, .frequency = 50, .to = 27, .noise = 0.02};
    look("spectrum --mains 50Hz", clear, &random, " Hz seen through 1");
    const log_of even = {.rate = 12, .amplitude = 0.3, .frequency = 50, .to = 27, .noise = 0.02};
    look("spectrum --mains 50Hz", even, &random, "mains at 50 Hz folded by 12 samples a second");
}

/* 0.05 bar/s in steps of 0.01 bar is a saw of 5 Hz. */
static void a_rounded_ramp_is_no_ripple(void **state) {
    shot_random random = shot_random_at(20, 0);
    const log_of l = {.rate = 50, .step = 0.01};
    assert_int_equal(look("spectrum", l, &random, NULL).marks, 0);
}

static void what_a_filter_changed_gets_no_interval(void **state) {
    shot_random random = shot_random_at(21, 0);
    const log_of l = {.rate = 50, .amplitude = 0.2, .frequency = 5, .to = 30, .noise = 0.02};
    const found f = look("smooth --window 5 | spectrum", l, &random, NULL);
    assert_int_equal(f.marks, 1);
    assert_true(isnan(f.low) && isnan(f.high));
}

static void reasons_are_given(void **state) {
    static const char in[] = "time [s],pressure [bar]\n0,1\n1,2\n2,3\n";
    feed result = feed_chain("spectrum --channel pressure,flow", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "no spectrum of 'pressure': there is no such channel, "
                                             "or it has fewer than 5 samples"));
    assert_non_null(strstr(result.out.bytes, "no spectrum of 'flow': there is no such channel"));
    assert_non_null(strstr(result.out.bytes, "\n0,1\n1,2\n2,3\n"));
    feed_free(&result);
    shot_text few = {0};
    shot_text_add(&few, "time [s],pressure [bar]\n");
    for (int i = 0; i < 30; i++)
        shot_text_add_format(&few, "%d,%d\n", i, i % 7);
    result = feed_chain("spectrum", few.bytes, few.length, 0);
    assert_non_null(strstr(result.out.bytes, "no spectrum of 'pressure': too few samples"));
    feed_free(&result);
    shot_text_free(&few);
}

static void the_table_holds_every_bin(void **state) {
    char path[] = "/tmp/spectrum-XXXXXX", chain[100], line[200];
    const int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    close(descriptor);
    shot_random random = shot_random_at(22, 0);
    const log_of l = {.rate = 50, .amplitude = 0.2, .frequency = 5, .to = 30, .noise = 0.05};
    snprintf(chain, sizeof chain, "spectrum --window 4s --table %s", path);
    look(chain, l, &random, NULL);
    FILE *table = fopen(path, "r");
    assert_non_null(fgets(line, sizeof line, table));
    assert_string_equal(line, "shot,channel,frequency,power,unit,continuum,false.alarm\n");
    int rows = 0;
    double peak = 0, at = 0;
    while (fgets(line, sizeof line, table) != NULL) {
        double frequency, power;
        char unit[20];
        assert_int_equal(sscanf(line, "1,pressure,%lf,%lf,%19[^,],", &frequency, &power, unit), 3);
        assert_string_equal(unit, "bar2/Hz");
        at = power > peak && frequency > 1 ? frequency : at;
        peak = frequency > 1 ? fmax(peak, power) : peak;
        assert_close(frequency, ++rows / 4.0, 1e-3);
    }
    assert_int_equal(rows, 99); /* below 25 Hz */
    assert_close(at, 5, 1e-3);
    fclose(table);
    remove(path);
    feed result = feed_chain("spectrum --table /nowhere/x.csv", "", 0, 0);
    assert_int_equal(result.status, SHOT_ERR_WRITE);
    feed_free(&result);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_ripple_is_found_with_its_interval_and_span),
        cmocka_unit_test(without_a_ripple_nothing_is_found),
        cmocka_unit_test(the_mains_are_named_behind_a_folded_line),
        cmocka_unit_test(uneven_rows_see_above_half_their_rate),
        cmocka_unit_test(a_rounded_ramp_is_no_ripple),
        cmocka_unit_test(what_a_filter_changed_gets_no_interval),
        cmocka_unit_test(reasons_are_given),
        cmocka_unit_test(the_table_holds_every_bin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
