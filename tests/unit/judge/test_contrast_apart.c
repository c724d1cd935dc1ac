/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: groups that were pulled one after the other, or on days of their own, are not called
 * different for what the hour or the day does. */
#include <support/contrast_of.h>

#include <shottrace/signal/random.h>

enum { RUNS = 600, A_DAY = 5, MOST = 60 };

/* Shots of days that scatter as far from each other as shots within one, and which day each is of,
 * from `first` on. */
static void draw_days(shot_random *random, size_t first, size_t days, size_t a_day, double *y,
                      size_t *day) {
    for (size_t d = 0; d < days; d++) {
        const double level = shot_random_normal(random);
        for (size_t i = d * a_day; i < (d + 1) * a_day; i++) {
            y[i] = 20 + level + shot_random_normal(random);
            day[i] = first + d;
        }
    }
}

static shot_contrast_rules quick_rules(const size_t *day, size_t days) {
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.arrangements = 0;
    rules.day = day;
    rules.days = days;
    rules.apart = true;
    return rules;
}

/* Shares of comparisons without a difference that are called different, and of intervals that hold
 * it. */
typedef struct shares {
    double different, covered, welch;
} shares;

static shares of_days_apart(size_t days, size_t others, size_t a_day, bool usual, uint64_t seed) {
    shares s = {0};
    for (int run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(seed, (uint64_t)run);
        double a[MOST], b[MOST];
        size_t day[MOST];
        const size_t n = days * a_day, m = others * A_DAY;
        draw_days(&random, 0, days, a_day, a, day);
        draw_days(&random, days, others, A_DAY, b, day + n);
        shot_contrast_rules rules = quick_rules(day, days + others);
        rules.against_usual = usual;
        const shot_contrast c = contrast(a, n, b, m, &rules);
        assert_int_equal(c.method, SHOT_CONTRAST_BETWEEN);
        s.different += c.verdict == SHOT_VERDICT_DIFFERENT;
        s.covered += c.test.low <= 0 && 0 <= c.test.high;
        rules.day = NULL;
        s.welch += contrast(a, n, b, m, &rules).test.p <= 0.05;
    }
    return (shares){s.different / RUNS, s.covered / RUNS, s.welch / RUNS};
}

/* Four standard errors of a share of 5 %. */
static double error(void) {
    return 4 * sqrt(0.05 * 0.95 / RUNS);
}

/* Twenty shots of four days against five of a fifth, two days against two, five of a day and one
 * shot of today against the usual ones of five days: Welch's test calls up to a third different. */
static void days_apart_keep_the_level(void **state) {
    const shares five = of_days_apart(1, 4, A_DAY, false, 51);
    const shares two = of_days_apart(2, 2, A_DAY, false, 52);
    const shares usual = of_days_apart(1, 5, A_DAY, true, 53);
    const shares single = of_days_apart(1, 5, 1, true, 54);
    assert_close(five.different, 0.05, error());
    assert_close(two.different, 0.05, error());
    assert_close(usual.different, 0.05, error());
    assert_close(single.different, 0.05, error());
    assert_close((five.covered + two.covered + usual.covered + single.covered) / 4, 0.95,
                 error() / 2);
    assert_true(five.welch > 0.2 && two.welch > 0.2 && usual.welch > 0.2);
}

/* One day each: nothing tells how far days lie apart, so no difference is the change's. */
static void of_a_day_each_the_day_may_have_done_it(void **state) {
    const double a[] = {9, 9.5, 10, 10.5, 11}, b[] = {19, 19.5, 20, 20.5, 21};
    const size_t day[] = {0, 0, 0, 0, 0, 1, 1, 1, 1, 1};
    shot_contrast_rules rules = quick_rules(day, 2);
    shot_contrast c = contrast(a, 5, b, 5, &rules);
    assert_int_equal(c.method, SHOT_CONTRAST_WELCH);
    assert_int_equal(c.verdict, SHOT_VERDICT_DRIFTED);
    assert_string_equal(shot_verdict_text(c.verdict), "different or drifted");
    rules.apart = false;
    assert_int_equal(contrast(a, 5, b, 5, &rules).verdict, SHOT_VERDICT_DIFFERENT);
}

/* Eight of one kind, then eight of the other, on a morning that drifts by two scatters: what is
 * called different without reserve stays rare, and a step that no drift explains is still seen. */
static void one_after_the_other_a_drift_is_no_difference(void **state) {
    enum { N = 8 };
    int different = 0, drifted = 0, seen = 0;
    for (int run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(55, (uint64_t)run);
        double y[2 * N], step[2 * N], order[2 * N];
        for (size_t i = 0; i < 2 * N; i++) {
            order[i] = (double)i;
            y[i] = 20 + 2.0 * (double)i / (2 * N) + shot_random_normal(&random);
            step[i] = y[i] + (i < N ? 0 : 5);
        }
        shot_contrast_rules rules = quick_rules(NULL, 0);
        rules.order = order;
        const shot_contrast c = contrast(y, N, y + N, N, &rules);
        different += c.verdict == SHOT_VERDICT_DIFFERENT;
        drifted += c.verdict == SHOT_VERDICT_DRIFTED;
        seen += contrast(step, N, step + N, N, &rules).verdict == SHOT_VERDICT_DIFFERENT;
    }
    assert_true((double)different / RUNS <= 0.05);
    assert_true((double)drifted / RUNS > 0.25); /* as Welch's test alone has it */
    assert_true((double)seen / RUNS > 0.9);
}

/* A drift that makes up for a difference does not make the groups the same. */
static void hidden_by_a_drift_is_not_the_same(void **state) {
    enum { N = 8 };
    double y[2 * N], order[2 * N];
    const double noise[] = {0.1, -0.1, -0.1, 0.1};
    for (size_t i = 0; i < 2 * N; i++) {
        order[i] = (double)i;
        y[i] = 0.1 * (double)i - (i < N ? 0 : 0.8) + noise[i % 4];
    }
    shot_contrast_rules rules = quick_rules(NULL, 0);
    rules.order = order;
    rules.margin = 0.5;
    assert_int_equal(contrast(y, N, y + N, N, &rules).verdict, SHOT_VERDICT_NOT_SETTLED);
    rules.apart = false;
    assert_int_equal(contrast(y, N, y + N, N, &rules).verdict, SHOT_VERDICT_SAME);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(days_apart_keep_the_level),
        cmocka_unit_test(of_a_day_each_the_day_may_have_done_it),
        cmocka_unit_test(one_after_the_other_a_drift_is_no_difference),
        cmocka_unit_test(hidden_by_a_drift_is_not_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
