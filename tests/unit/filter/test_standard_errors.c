/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: noise that a '# noise:' line tells counts as it is told, its correlation too, in every
 * filter that adds standard errors. */
#include <support/check.h>
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

enum { SHOTS = 300, ROWS = 120 };
static const double SD = 0.1, CORRELATION = 0.3, LEVEL = 2;

/* A constant channel at 10 Hz, jittered, in noise of which 1/e is left after CORRELATION, as told.
 */
static shot_text correlated_log(const char *channel, uint64_t seed) {
    shot_text in = {0};
    shot_random random = shot_random_at(seed, 21);
    double noise = shot_random_normal(&random), before = 0;
    shot_text_add_format(&in, "# noise: %s sd=0.1 corr=0.3s\ntime [s],pressure [bar],%s\n", channel,
                         channel);
    for (int i = 0; i < ROWS; i++) {
        const double t = i % 100 == 0 ? i / 10 : 0.1 * i + 0.04 * shot_random_uniform(&random);
        const double left = exp((before - t) / CORRELATION);
        noise = left * noise + sqrt(1 - left * left) * shot_random_normal(&random);
        before = t;
        shot_text_add_format(&in, "%.17g,8,%.17g\n", t, LEVEL + SD * noise);
    }
    return in;
}

/* The last two fields of the row at 10 s: how far the value is from the truth, in standard errors.
 */
static double deviation_at_10s(const char *chain, const char *channel, uint64_t seed,
                               double truth) {
    shot_text in = correlated_log(channel, seed);
    feed result = feed_chain(chain, in.bytes, in.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    const char *row = strstr(result.out.bytes, "\n10,");
    assert_non_null(row);
    const char *se = strchr(row + 1, '\n');
    while (se[-1] != ',')
        se--;
    const char *value = se - 1;
    while (value[-1] != ',')
        value--;
    const double deviation = (strtod(value, NULL) - truth) / strtod(se, NULL);
    feed_free(&result);
    shot_text_free(&in);
    return deviation;
}

/* The mean square of 300 deviations in standard errors is 1 with a standard deviation of
 * sqrt(2 / 300), 8 %; 4 of these.  The most by which correlation can inflate the variance of any
 * sum, (1 + r) / (1 - r), would give less than 0.5 for the slopes, and white noise 2 and more for
 * the others. */
static void a_told_correlation_counts(void **state) {
    static const struct {
        const char *chain, *channel;
        double truth;
    } cases[] = {
        {"smooth --channel flow --window 11 --errors", "flow", LEVEL},
        {"smooth --channel flow --window 1s --taper --errors", "flow", LEVEL},
        {"smooth --channel flow --cutoff 1Hz --errors", "flow", LEVEL},
        {"diff --channel flow --window 11 --errors", "flow", 0},
        {"integrate --channel flow --errors", "flow", LEVEL * 10},
        {"integrate --channel flow --rule cubic --errors", "flow", LEVEL * 10},
        {"derive --quantity water --errors", "flow", LEVEL * 10},
        {"pick --keep flow | resample --rate 1 --errors", "flow", LEVEL},
        {"pick --keep flow | resample --rate 20 --method sinc --errors", "flow", LEVEL},
        {"derive --quantity outflow --window 1.5s --errors", "weight", 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double sum = 0;
        for (uint64_t seed = 0; seed < SHOTS; seed++) {
            const double deviation =
                deviation_at_10s(cases[i].chain, cases[i].channel, seed, cases[i].truth);
            sum += deviation * deviation / SHOTS;
        }
        print_message("%.3f: %s\n", sum, cases[i].chain);
        assert_true(fabs(sum - 1) < 0.33);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_told_correlation_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
