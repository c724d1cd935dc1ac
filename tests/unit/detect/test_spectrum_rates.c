/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: of a hundred logs with a ripple nearly all show it, its intervals hold as often as they
 * say, and logs without one give no more alarms than the rate that is stated. */
#include <support/ripple_log.h>

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

/* Rows at 12 Hz with a jitter of 10 % tell 50 Hz from the 2 Hz that an even grid would fold it to;
 * the interval covers in 90 of 100 shots at least, of those in which it is found. */
static void so_is_one_above_half_the_rate_of_uneven_rows(void **state) {
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
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_ripple_is_found_with_its_interval_and_span),
        cmocka_unit_test(so_is_one_above_half_the_rate_of_uneven_rows),
        cmocka_unit_test(without_a_ripple_nothing_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
