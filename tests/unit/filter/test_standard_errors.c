/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: noise that a '# noise:' line tells counts as it is told, its correlation too, in every
 * filter that adds standard errors. */
#include <support/check.h>
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

/* Samples at 10 Hz with far less noise than the line says, so that an estimate would show. */
static shot_text log_with(const char *noise) {
    shot_text in = {0};
    shot_random random = shot_random_at(21, 0);
    shot_text_add_format(&in, "# shot: one\n%stime [s],pressure [bar],flow [ml/s]\n", noise);
    for (int i = 0; i < 120; i++)
        shot_text_add_format(&in, "%.1f,%.6f,%.6f\n", i / 10.0,
                             8 + 0.001 * shot_random_normal(&random),
                             2 + 0.001 * shot_random_normal(&random));
    return in;
}

/* The last field of the row at 10 s. */
static double error_of(const char *chain, const char *noise) {
    shot_text in = log_with(noise);
    feed result = feed_chain(chain, in.bytes, in.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    const char *row = strstr(result.out.bytes, "\n10,");
    assert_non_null(row);
    const char *end = strchr(row + 1, '\n');
    while (end[-1] != ',')
        end--;
    const double value = *end == '\n' ? NAN : strtod(end, NULL);
    feed_free(&result);
    shot_text_free(&in);
    return value;
}

/* 1/e in three samples: r = exp(-1/3) from one to the next; a sum of many is uncertain by
 * (1 + r) / (1 - r) times the variance of independent ones (smooth.md). */
static void a_told_correlation_counts(void **state) {
    static const char *const chains[] = {
        "smooth --channel flow --window 11 --errors",
        "diff --channel flow --window 11 --errors",
        "integrate --channel flow --errors",
        "integrate --channel flow --rule cubic --errors",
        "smooth --channel flow --method lowpass --cutoff 1Hz --errors",
        "derive --quantity water --errors",
        "pick --keep flow | resample --rate 5 --errors",
    };
    const double r = exp(-1.0 / 3), inflation = (1 + r) / (1 - r);
    for (size_t i = 0; i < sizeof chains / sizeof *chains; i++) {
        const double white = error_of(chains[i], "# noise: flow sd=0.1 corr=0s\n");
        const double red = error_of(chains[i], "# noise: flow sd=0.1 corr=0.3s\n");
        assert_true(white > 0.005); /* as told: samples of 0.001 would leave a tenth of that */
        assert_close(red / white, sqrt(inflation), 1e-9); /* rounding of a few operations */
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_told_correlation_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
