/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects what must hold for any input of the filters that fit no polynomial: the low-pass and the
 * integral are linear; time may run backwards, its unit and origin do not matter, nor do those of
 * the values; what is a straight line or only rises stays so; units come back.  (tests/property:
 * smoothing.c has the fits, resampling.c the interpolants.) */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/butterworth.h>
#include <shottrace/signal/hampel.h>
#include <shottrace/signal/integral.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/running_median.h>

enum { MOST = 400, TRIALS = 60 };

typedef struct series {
    size_t n;
    double t[MOST], y[MOST];
} series;

/* Times are multiples of 2^-10 s and values of 2^-20, so that shifts and scales by powers of two
 * round nothing; the first and the last sample have a value. */
static void make(series *s, shot_random *random, double missing) {
    s->n = 30 + (size_t)shot_random_below(random, MOST - 30);
    double now = 0;
    for (size_t i = 0; i < s->n; i++) {
        s->t[i] = now += (1 + (double)shot_random_below(random, 99)) / 1024;
        s->y[i] = floor(shot_random_normal(random) * 0x1p20) / 0x1p20;
        if (i > 0 && i + 1 < s->n && shot_random_chance(random, missing))
            s->y[i] = NAN;
    }
}

static series reversed(const series *s) {
    series back = {.n = s->n};
    for (size_t i = 0; i < s->n; i++) {
        back.t[i] = 64 - s->t[s->n - 1 - i];
        back.y[i] = s->y[s->n - 1 - i];
    }
    return back;
}

static bool same(double a, double b) {
    return a == b || (isnan(a) && isnan(b));
}

/* ---- low-pass ---- */

static void two_passes(size_t order, double cutoff, double *x, size_t n) {
    shot_biquad sections[SHOT_BUTTERWORTH_SECTIONS(6)];
    const size_t count = SHOT_BUTTERWORTH_SECTIONS(order);
    double *work = malloc(shot_butterworth_workspace(n, count) * sizeof *work);
    assert_int_equal(shot_butterworth_design(order, cutoff, sections), SHOT_OK);
    shot_butterworth_zero_phase(sections, count, x, n, work);
    free(work);
}

/* 1e-9: an order of 6 at 0.02 of the rate has poles within 0.02 of the unit circle, which make some
 * hundred thousand of each rounding of numbers near 3. */
static void the_low_pass_is_linear_and_keeps_lines(void **state) {
    static series a, b;
    shot_random random = shot_random_at(72, 1);
    for (int trial = 0; trial < TRIALS; trial++) {
        const size_t order = 1 + (size_t)shot_random_below(&random, 6);
        const double cutoff = shot_random_between(&random, 0.02, 0.45);
        const double p = shot_random_between(&random, -2, 2);
        double both[MOST], line[MOST];
        make(&a, &random, 0);
        b = a;
        for (size_t i = 0; i < a.n; i++) {
            b.y[i] = shot_random_normal(&random);
            both[i] = a.y[i] + p * b.y[i];
            line[i] = 3 - 0.02 * (double)i;
        }
        two_passes(order, cutoff, a.y, a.n);
        two_passes(order, cutoff, b.y, b.n);
        two_passes(order, cutoff, both, a.n);
        two_passes(order, cutoff, line, a.n);
        for (size_t i = 0; i < a.n; i++) {
            assert_close(both[i], a.y[i] + p * b.y[i], 1e-9);
            assert_close(line[i], 3 - 0.02 * (double)i, 1e-9);
        }
    }
}

/* ---- median ---- */

static void medians(shot_reach reach, const series *s, double *out) {
    shot_running_median *running;
    shot_median_at at;
    size_t count = 0;
    assert_int_equal(shot_running_median_new(reach, SHOT_MISSING_SKIPPED, false, &running),
                     SHOT_OK);
    for (size_t i = 0; i <= s->n; i++) {
        if (i < s->n)
            assert_int_equal(shot_running_median_push(running, s->t[i], s->y[i]), SHOT_OK);
        else
            shot_running_median_finish(running);
        for (bool ready; shot_running_median_next(running, &at, &ready) == SHOT_OK && ready;)
            out[count++] = isnan(at.value) ? NAN : at.median;
    }
    assert_int_equal(count, s->n);
    shot_running_median_free(running);
}

static shot_reach draw_reach(shot_random *random) {
    const double half = (double)(1 + shot_random_below(random, 12));
    const bool samples = shot_random_chance(random, 0.5);
    return (shot_reach){samples ? half : half / 16, samples ? half : half / 16, samples};
}

/* A median is one of the samples, or the middle of two: exact to the bit under powers of two. */
static void the_median_follows_shifts_scales_and_reversal(void **state) {
    static series a, back, moved;
    double of_a[MOST], of_back[MOST], of_moved[MOST];
    shot_random random = shot_random_at(72, 2);
    for (int trial = 0; trial < TRIALS; trial++) {
        const shot_reach reach = draw_reach(&random);
        shot_reach slower = reach;
        make(&a, &random, 0.1);
        back = reversed(&a);
        moved = a;
        for (size_t i = 0; i < a.n; i++) {
            moved.t[i] = 8 * a.t[i] + 4096;
            moved.y[i] = 16 - 4 * a.y[i];
        }
        slower.before *= reach.samples ? 1 : 8;
        slower.after *= reach.samples ? 1 : 8;
        medians(reach, &a, of_a);
        medians(reach, &back, of_back);
        medians(slower, &moved, of_moved);
        for (size_t i = 0; i < a.n; i++) {
            assert_true(same(of_back[a.n - 1 - i], of_a[i]));
            assert_true(same(of_moved[i], 16 - 4 * of_a[i]));
        }
    }
}

/* Gallagher & Wise 1981: what only rises is its own median, where the window is whole. */
static void what_only_rises_is_its_own_median(void **state) {
    static series a;
    double of_a[MOST];
    shot_random random = shot_random_at(72, 3);
    for (int trial = 0; trial < TRIALS; trial++) {
        const double half = (double)(1 + shot_random_below(&random, 12));
        make(&a, &random, 0);
        for (size_t i = 1; i < a.n; i++)
            a.y[i] = a.y[i - 1] + (shot_random_chance(&random, 0.3) ? 0 : fabs(a.y[i]));
        medians((shot_reach){half, half, true}, &a, of_a);
        for (size_t i = (size_t)half; i + (size_t)half < a.n; i++)
            assert_true(of_a[i] == a.y[i]);
    }
}

/* ---- spikes ---- */

static void verdicts(const shot_hampel_rule *rule, const series *s, bool *out) {
    shot_hampel *hampel;
    shot_hampel_at at;
    size_t count = 0;
    assert_int_equal(shot_hampel_new(rule, &hampel), SHOT_OK);
    for (size_t i = 0; i <= s->n; i++) {
        if (i < s->n)
            assert_int_equal(shot_hampel_push(hampel, s->t[i], s->y[i]), SHOT_OK);
        else
            shot_hampel_finish(hampel);
        for (bool ready; shot_hampel_next(hampel, &at, &ready) == SHOT_OK && ready;)
            out[count++] = at.spike;
    }
    assert_int_equal(count, s->n);
    shot_hampel_free(hampel);
}

static void spikes_are_the_same_in_any_unit_and_direction(void **state) {
    static series a, back, moved;
    bool of_a[MOST], of_back[MOST], of_moved[MOST];
    size_t spikes = 0;
    shot_random random = shot_random_at(72, 4);
    for (int trial = 0; trial < TRIALS; trial++) {
        const shot_hampel_rule rule = {
            .reach = draw_reach(&random), .threshold = 2.5, .floor = 0.125};
        shot_hampel_rule other = rule;
        make(&a, &random, 0.1);
        back = reversed(&a);
        moved = a;
        for (size_t i = 0; i < a.n; i++) {
            moved.t[i] = 8 * a.t[i] + 4096;
            moved.y[i] = 16 - 4 * a.y[i];
        }
        other.floor *= 4;
        other.reach.before *= rule.reach.samples ? 1 : 8;
        other.reach.after *= rule.reach.samples ? 1 : 8;
        verdicts(&rule, &a, of_a);
        verdicts(&rule, &back, of_back);
        verdicts(&other, &moved, of_moved);
        for (size_t i = 0; i < a.n; i++) {
            assert_true(of_a[i] == of_back[a.n - 1 - i]);
            assert_true(of_a[i] == of_moved[i]);
            spikes += of_a[i];
        }
    }
    assert_true(spikes > 20);
}

/* ---- integral ---- */

static void integrals(int degree, const series *s, double *out) {
    const shot_integral_rule rule = {.degree = degree, .longest = INFINITY, .bridge = true};
    shot_integral *integral;
    shot_integral_at at;
    size_t count = 0;
    assert_int_equal(shot_integral_new(&rule, &integral), SHOT_OK);
    for (size_t i = 0; i <= s->n; i++) {
        if (i < s->n)
            assert_int_equal(shot_integral_push(integral, s->t[i], s->y[i]), SHOT_OK);
        else
            shot_integral_finish(integral);
        while (shot_integral_next(integral, &at))
            out[count++] = at.value;
    }
    assert_int_equal(count, s->n);
    shot_integral_free(integral);
}

/* 1e-10: sums of some hundred terms, in which a cubic through very uneven times makes up to a
 * thousand of the rounding of numbers near 3. */
static void the_integral_is_linear_and_knows_its_direction(void **state) {
    static series a, b, both, back, slow;
    double of_a[MOST], of_b[MOST], of_both[MOST], of_back[MOST], of_slow[MOST];
    shot_random random = shot_random_at(72, 5);
    for (int trial = 0; trial < TRIALS; trial++) {
        const int degree = trial % 2 ? 3 : 1;
        const double p = shot_random_between(&random, -2, 2);
        make(&a, &random, 0.1);
        b = both = slow = a;
        for (size_t i = 0; i < a.n; i++) {
            b.y[i] = isnan(a.y[i]) ? NAN : shot_random_normal(&random);
            both.y[i] = a.y[i] + p * b.y[i];
            slow.t[i] = 8 * a.t[i] + 4096;
        }
        back = reversed(&a);
        integrals(degree, &a, of_a);
        integrals(degree, &b, of_b);
        integrals(degree, &both, of_both);
        integrals(degree, &back, of_back);
        integrals(degree, &slow, of_slow);
        const double all = of_a[a.n - 1];
        for (size_t i = 0; i < a.n; i++) {
            assert_close(of_both[i], of_a[i] + p * of_b[i], 1e-10);
            assert_close(of_back[a.n - 1 - i], all - of_a[i], 1e-10);
            assert_close(of_slow[i], 8 * of_a[i], 1e-10);
        }
    }
}

/* ---- units ---- */

/* The last channel of the header that a chain writes. */
static void check_last_channel(const char *chain, const char *in, const char *want) {
    feed got = feed_chain(chain, in, strlen(in), 0);
    if (got.status != SHOT_OK)
        fail_msg("%s: %s", chain, got.error.what);
    char *header = strstr(got.out.bytes, "\ntime");
    *strchr(header + 1, '\n') = '\0';
    assert_string_equal(strrchr(header, ',') + 1, want);
    feed_free(&got);
}

static void units_come_back(void **state) {
    static const char in[] = "time [ms],weight [oz],x [furlong],pressure [psi]\n"
                             "0,0,1,1\n100,1,2,1\n200,2,3,1\n300,3,4,1\n400,4,5,1\n";
    check_last_channel("diff --window 3 --channel weight", in, "weight.d1 [g/s]");
    check_last_channel("diff --window 3 --channel weight | integrate --channel weight.d1", in,
                       "weight.d1.int [g]");
    check_last_channel("diff --window 5 --channel weight --derivative 2", in, "weight.d2 [g/s2]");
    check_last_channel("diff --window 3 --channel x", in, "x.d1 [furlong/s]");
    check_last_channel("integrate --channel pressure", in, "pressure.int [bar.s]");
    check_last_channel("resample --rate 20", in, "pressure [bar]");
    static const char mixed[] = "time,pressure [g]\n0,1\n";
    feed got = feed_chain("smooth", mixed, strlen(mixed), 0);
    assert_int_equal(got.status, SHOT_ERR_UNIT);
    assert_string_equal(got.error.what, "pressure cannot be in 'g'; it is measured in bar");
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_low_pass_is_linear_and_keeps_lines),
        cmocka_unit_test(the_median_follows_shifts_scales_and_reversal),
        cmocka_unit_test(what_only_rises_is_its_own_median),
        cmocka_unit_test(spikes_are_the_same_in_any_unit_and_direction),
        cmocka_unit_test(the_integral_is_linear_and_knows_its_direction),
        cmocka_unit_test(units_come_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
