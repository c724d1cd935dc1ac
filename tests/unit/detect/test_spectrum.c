/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the mains recognised behind a folded line, on even and uneven rows; rounding that is no
 * ripple; no interval behind a filter; reasons; and the table. */
#include <support/ripple_log.h>

#include <stdio.h>
#include <unistd.h>

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

/* A jitter of 10 % tells 50 Hz from the 2 Hz that an even grid would fold it to. */
static void uneven_rows_see_above_half_their_rate(void **state) {
    shot_random random = shot_random_at(24, 0);
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
        cmocka_unit_test(the_mains_are_named_behind_a_folded_line),
        cmocka_unit_test(uneven_rows_see_above_half_their_rate),
        cmocka_unit_test(a_rounded_ramp_is_no_ripple),
        cmocka_unit_test(what_a_filter_changed_gets_no_interval),
        cmocka_unit_test(reasons_are_given),
        cmocka_unit_test(the_table_holds_every_bin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
