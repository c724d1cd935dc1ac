/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: smoothing and differentiating a stream give the fit of each window, whichever of the
 * three ways is taken; published vectors, ends included; holes, short data and spikes. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/running_fit.h>

enum { MOST = 300 };

static size_t drain(shot_running_fit *fit, shot_running_fit_at *out) {
    size_t count = 0;
    for (bool ready = true; ready; count += ready)
        assert_int_equal(shot_running_fit_next(fit, out + count, &ready), SHOT_OK);
    return count;
}

/* Feed in portions, twice with a reset between; out has room for n + 1. */
static void run(const shot_running_fit_rule *rule, const double *t, const double *y, size_t n,
                size_t portion, shot_running_fit_at *out) {
    shot_running_fit *fit;
    assert_int_equal(shot_running_fit_new(rule, &fit), SHOT_OK);
    for (int round = 0; round < 2; round++) {
        size_t count = 0;
        for (size_t i = 0; i < n; i++) {
            assert_int_equal(shot_running_fit_push(fit, t[i], y[i]), SHOT_OK);
            if (i % portion == portion - 1)
                count += drain(fit, out + count);
        }
        shot_running_fit_finish(fit);
        count += drain(fit, out + count);
        assert_int_equal(count, n);
        shot_running_fit_reset(fit);
    }
    shot_running_fit_free(fit);
}

static void check_vector(size_t points, size_t order, size_t derivative, double step,
                         const double *y, const double *known, size_t n, double tolerance) {
    const double half = (double)(points / 2);
    const shot_running_fit_rule rule = {
        .reach = {half, half, true}, .order = order, .derivative = derivative};
    double t[32];
    shot_running_fit_at at[33];
    for (size_t i = 0; i < n; i++)
        t[i] = 3 + step * (double)i;
    run(&rule, t, y, n, 1, at);
    for (size_t i = 0; i < n; i++)
        assert_close(at[i].fitted, known[i], tolerance);
}

/* scipy 1.10.1 savgol_filter, mode 'interp', which is the end rule here; the first row is the
 * example of its documentation. Exact rational arithmetic agrees. */
static void vectors_of_the_reference(void **state) {
    static const double y[] = {2, 2, 5, 2, 1, 0, 1, 4, 9};
    static const struct {
        size_t points, order, derivative;
        double known[9];
    } small[] = {
        {5, 2, 0, {58 / 35., 111 / 35., 124 / 35., 100 / 35., 23 / 35., 6 / 35., 1, 4, 9}},
        {5, 2, 1, {2.08571428571, 0.942857142857, -0.2, -0.8, -1, 0.4, 2, 4, 6}},
        {5,
         2,
         2,
         {-1.14285714286, -1.14285714286, -1.14285714286, -0.857142857143, 1.14285714286,
          1.42857142857, 2, 2, 2}},
        {5,
         3,
         0,
         {1.75714285714, 2.97142857143, 3.54285714286, 2.85714285714, 0.657142857143,
          0.171428571429, 1, 4, 9}},
        {7,
         2,
         0,
         {2.38095238095, 2.64285714286, 2.64285714286, 2.38095238095, 1.19047619048,
          0.0952380952381, 1.42857142857, 4.28571428571, 8.66666666667}},
    };
    for (size_t k = 0; k < sizeof small / sizeof *small; k++) /* printed to 12 digits */
        check_vector(small[k].points, small[k].order, small[k].derivative, 1, y, small[k].known, 9,
                     1e-11);
}

/* A pressure that rises and holds, 10 Hz; scipy 1.10.1 and exact arithmetic, printed to 12 digits;
 * second derivatives magnify rounding by the rate squared. */
static void a_rise_of_pressure(void **state) {
    static const double y[] = {0.1, 0.3, 0.9, 1.8, 2.9, 4.1, 5.2, 6.2, 7.1,
                               7.8, 8.3, 8.6, 8.8, 8.9, 9,   9,   9};
    static const double p2_7[] = {
        -0.0119047619048, 0.407142857143, 1.01428571429, 1.80952380952, 2.90476190476,
        4.0619047619,     5.19047619048,  6.21428571429, 7.08571428571, 7.78095238095,
        8.28571428571,    8.60476190476,  8.80476190476, 8.91904761905, 9,
        9.02142857143,    8.98333333333};
    static const double p2_7_d1[] = {3.25,           5.13095238095,
                                     7.0119047619,   8.89285714286,
                                     10.2142857143,  10.6071428571,
                                     10.1785714286,  9.10714285714,
                                     7.60714285714,  6,
                                     4.39285714286,  3,
                                     1.89285714286,  1.10714285714,
                                     0.511904761905, -0.0833333333333,
                                     -0.678571428571};
    static const double p4_9_d1[] = {
        -1.0011007511,   4.22112147112,  7.91381766382, 10.2518130018,  11.4099326599,
        11.569023569,    10.8653198653,  9.55808080808, 7.84090909091,  6,
        4.0867003367,    2.56144781145,  1.51430976431, 0.885716135716, 0.454480704481,
        0.0947293447293, -0.319412069412};
    static const double p3_7_d2[] = {53.8095238095,  42.1428571429,  30.4761904762,  18.8095238095,
                                     7.61904761905,  -1.66666666667, -8.80952380952, -13.5714285714,
                                     -16.4285714286, -17.619047619,  -16.4285714286, -12.380952381,
                                     -8.80952380952, -5.95238095238, -4.28571428571, -2.61904761905,
                                     -0.952380952381};
    check_vector(7, 2, 0, 0.1, y, p2_7, 17, 1e-10);
    check_vector(7, 2, 1, 0.1, y, p2_7_d1, 17, 1e-10);
    check_vector(9, 4, 1, 0.1, y, p4_9_d1, 17, 1e-10);
    check_vector(7, 3, 2, 0.1, y, p3_7_d2, 17, 1e-8);
}

/* ---- against the definition ---- */

typedef struct series {
    size_t n;
    double t[MOST], y[MOST];
} series;

enum { EVEN, JITTERED, HOLES, PATCHES, KINDS };

static void make(series *s, int kind, uint64_t index) {
    shot_random random = shot_random_at(31, index);
    s->n = 60 + (size_t)shot_random_below(&random, MOST - 60);
    double now = 0;
    bool patch = false;
    for (size_t i = 0; i < s->n; i++) {
        patch = shot_random_chance(&random, 0.03) ? !patch : patch;
        const bool jitter = kind == JITTERED || (kind == PATCHES && patch);
        now = jitter ? now + 0.05 * shot_random_between(&random, 0.3, 1.7) : now + 0.05;
        s->t[i] = kind == EVEN || kind == HOLES ? (double)i / 20 : now;
        s->y[i] = 9 * sin(s->t[i]) + shot_random_normal(&random);
        if ((kind == HOLES || kind == PATCHES) && shot_random_chance(&random, 0.1))
            s->y[i] = NAN;
    }
}

/* The rows that have a value. */
static void keep_samples(const series *s, series *samples) {
    samples->n = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (isnan(s->y[i]))
            continue;
        samples->t[samples->n] = s->t[i];
        samples->y[samples->n++] = s->y[i];
    }
}

/* The window of sample i by definition: [low, high), and its middle. */
static void window_of(const shot_reach *reach, const series *s, size_t i, size_t *low, size_t *high,
                      double *middle) {
    const double *t = s->t, first = t[0], last = t[s->n - 1], slack = 1e-7;
    if (reach->samples) {
        const size_t b = (size_t)reach->before, a = (size_t)reach->after;
        const size_t centre = i < b ? b : i + a >= s->n ? s->n - 1 - a : i;
        *low = centre - b;
        *high = centre + a + 1;
        *middle = t[centre];
        return;
    }
    *middle = t[i];
    if (t[i] - reach->before < first - slack)
        *middle = first + reach->before;
    else if (t[i] + reach->after > last + slack)
        *middle = last - reach->after;
    for (*low = 0; t[*low] < *middle - reach->before - slack;)
        ++*low;
    for (*high = *low; *high < s->n && t[*high] <= *middle + reach->after + slack;)
        ++*high;
}

static double taper_width(const shot_running_fit_rule *rule, const series *s, size_t low,
                          size_t high, double middle) {
    const double longer = fmax(rule->reach.before, rule->reach.after);
    if (!rule->tapered)
        return 0;
    return rule->reach.samples
               ? fmax(middle - s->t[low], s->t[high - 1] - middle) * (longer + 1) / longer
               : longer;
}

static void check_definition(const shot_running_fit_rule *rule, const series *rows,
                             const shot_running_fit_at *at) {
    static series s;
    shot_local_fit *fit;
    keep_samples(rows, &s);
    assert_int_equal(shot_local_fit_new(rule->order, &fit), SHOT_OK);
    for (size_t r = 0, i = 0; r < rows->n; r++) {
        assert_true(at[r].t == rows->t[r]);
        if (isnan(rows->y[r])) {
            assert_true(isnan(at[r].fitted) && isnan(at[r].gain));
            continue;
        }
        size_t low, high;
        double middle;
        window_of(&rule->reach, &s, i++, &low, &high, &middle);
        const shot_status status = shot_local_fit_set(fit, s.t + low, s.y + low, high - low, middle,
                                                      taper_width(rule, &s, low, high, middle));
        assert_true(status == SHOT_OK || status == SHOT_ERR_SINGULAR);
        const shot_local_fit_value want = shot_local_fit_at(fit, rows->t[r], rule->derivative);
        assert_true(isnan(at[r].fitted) == (status != SHOT_OK));
        if (status != SHOT_OK)
            continue;
        /* values to 12 in a window of about 1 s: 1e-12 of the largest; a derivative by as many
           window lengths more, and off the middle by the gain */
        const double size = 12 * pow(8, (double)rule->derivative);
        assert_close(at[r].fitted, want.value, 1e-12 * size * fmax(1, sqrt(want.gain)));
        assert_rel(at[r].gain, want.gain, 1e-9);
    }
    shot_local_fit_free(fit);
}

/* Feed in portions and take all results at once, as filters do. */
static void take_at_once(const shot_running_fit_rule *rule, const series *s, size_t portion,
                         double *fitted, double *gain) {
    shot_running_fit *fit;
    size_t taken = 0, more;
    assert_int_equal(shot_running_fit_new(rule, &fit), SHOT_OK);
    for (size_t i = 0, some; i < s->n; i += some) {
        some = s->n - i < portion ? s->n - i : portion;
        assert_int_equal(shot_running_fit_push_block(fit, s->t + i, s->y + i, some), SHOT_OK);
        if (i + some == s->n)
            shot_running_fit_finish(fit);
        assert_int_equal(
            shot_running_fit_take(fit, s->n - taken, fitted + taken, gain + taken, &more), SHOT_OK);
        taken += more;
    }
    assert_int_equal(taken, s->n);
    shot_running_fit_free(fit);
}

static void check_at_once(const shot_running_fit_rule *rule, const series *s,
                          const shot_running_fit_at *rowwise) {
    static const size_t portions[] = {1, 2, 37, MOST};
    for (size_t p = 0; p < sizeof portions / sizeof *portions; p++) {
        double fitted[MOST], gain[MOST];
        take_at_once(rule, s, portions[p], fitted, gain);
        for (size_t i = 0; i < s->n; i++) {
            assert_memory_equal(&rowwise[i].fitted, &fitted[i], sizeof(double));
            assert_memory_equal(&rowwise[i].gain, &gain[i], sizeof(double));
        }
    }
}

/* What was fitted before, of which weights may be kept, changes no bit, nor that gains are not
 * asked for. */
static void check_again(const shot_running_fit_rule *rule, const series *s,
                        const shot_running_fit_at *rowwise) {
    shot_running_fit *fit;
    double fitted[MOST];
    size_t taken;
    assert_int_equal(shot_running_fit_new(rule, &fit), SHOT_OK);
    for (int round = 0; round < 2; round++) {
        const size_t from = round == 0 ? s->n / 2 : 0, n = s->n - from;
        assert_int_equal(shot_running_fit_push_block(fit, s->t + from, s->y + from, n), SHOT_OK);
        shot_running_fit_finish(fit);
        assert_int_equal(shot_running_fit_take(fit, n, fitted, NULL, &taken), SHOT_OK);
        assert_int_equal(taken, n);
        shot_running_fit_reset(fit);
    }
    for (size_t i = 0; i < s->n; i++)
        assert_memory_equal(&rowwise[i].fitted, &fitted[i], sizeof(double));
    shot_running_fit_free(fit);
}

static void check_rule(const shot_running_fit_rule *rule, const series *s) {
    static shot_running_fit_at rowwise[MOST + 1], portions[MOST + 1];
    run(rule, s->t, s->y, s->n, 1, rowwise);
    run(rule, s->t, s->y, s->n, 37, portions);
    for (size_t i = 0; i < s->n; i++) {
        assert_memory_equal(&rowwise[i].fitted, &portions[i].fitted, sizeof(double));
        assert_memory_equal(&rowwise[i].gain, &portions[i].gain, sizeof(double));
    }
    check_at_once(rule, s, rowwise);
    check_again(rule, s, rowwise);
    check_definition(rule, s, rowwise);
}

static void all_ways_give_the_fit_of_the_window(void **state) {
    static series s;
    uint64_t index = 0;
    for (int kind = 0; kind < KINDS; kind++) {
        for (size_t order = 0; order <= 5; order++) {
            for (size_t derivative = 0; derivative <= order && derivative < 3; derivative++) {
                for (int form = 0; form < 6; form++) {
                    const bool samples = form % 2;
                    const shot_reach time = {0.5, form < 4 ? 0.5 : 0.25, false},
                                     count = {10, form < 4 ? 10 : 5, true};
                    const shot_running_fit_rule rule = {.reach = samples ? count : time,
                                                        .order = order,
                                                        .derivative = derivative,
                                                        .tapered = form == 2 || form == 3};
                    make(&s, kind, index++);
                    check_rule(&rule, &s);
                }
            }
        }
    }
}

/* A value that does not belong, once out of the window, leaves nothing behind: sums that subtract
 * what leaves would keep 1e15 * 1e-16. */
static void a_spike_leaves_no_trace(void **state) {
    static series s;
    static shot_running_fit_at with[MOST + 1], without[MOST + 1];
    const shot_running_fit_rule rule = {.reach = {5, 5, true}, .order = 2};
    make(&s, JITTERED, 900);
    run(&rule, s.t, s.y, s.n, 1, without);
    s.y[30] = 1e15;
    run(&rule, s.t, s.y, s.n, 1, with);
    for (size_t i = 0; i < s.n; i++)
        if (i + 5 < 30 || i > 35 + 11) /* a level is kept for up to a window more */
            assert_close(with[i].fitted, without[i].fitted, 1e-12 * 12);
}

/* ---- holes and ends ---- */

static void missing_stays_missing_unless_filled(void **state) {
    const double t[] = {0, 1, 2, 3, 4, 5, 6, 7, 8};
    const double y[] = {NAN, 1, 4, NAN, 16, 25, 36, 49, NAN};
    shot_running_fit_rule rule = {.reach = {2, 2, true}, .order = 2};
    shot_running_fit_at at[10];
    run(&rule, t, y, 9, 1, at);
    for (size_t i = 0; i < 9; i++) {
        assert_true(isnan(at[i].fitted) == isnan(y[i]));
        if (!isnan(y[i]))
            assert_close(at[i].fitted, t[i] * t[i], 1e-12);
    }
    rule.fill = true;
    run(&rule, t, y, 9, 1, at);
    assert_close(at[3].fitted, 9, 1e-12);
    assert_true(at[3].gain > 0.5 && at[3].gain < 1);
    assert_true(isnan(at[0].fitted) && isnan(at[8].fitted)); /* nothing beyond the samples */
}

static void a_window_short_of_samples_has_no_value(void **state) {
    const double t[] = {0, 1, 2, 3, 4, 5, 6, 7, 8};
    const double y[] = {0, 1, 4, 9, NAN, 25, NAN, NAN, 64};
    const shot_running_fit_rule rule = {.reach = {1, 1, false}, .order = 2};
    shot_running_fit_at at[10];
    run(&rule, t, y, 9, 1, at);
    for (size_t i = 0; i < 9; i++)
        assert_true(isnan(at[i].fitted) == (i > 2));
}

/* A scale that writes in every second row: a window of samples is one of its own samples, and rows
 * without them change nothing. */
static void rows_without_a_sample_do_not_count(void **state) {
    static series s, samples;
    static shot_running_fit_at with[MOST + 1], without[MOST + 1];
    const shot_running_fit_rule rule = {.reach = {4, 4, true}, .order = 2, .derivative = 1};
    make(&s, EVEN, 3);
    for (size_t i = 1; i < s.n; i += 2)
        s.y[i] = NAN;
    keep_samples(&s, &samples);
    run(&rule, s.t, s.y, s.n, 1, with);
    run(&rule, samples.t, samples.y, samples.n, 1, without);
    for (size_t i = 0; i < samples.n; i++)
        assert_memory_equal(&with[2 * i].fitted, &without[i].fitted, sizeof(double));
}

/* A channel that falls silent does not hold the rows back; nor does one that never speaks. */
static void silence_does_not_hold_back(void **state) {
    for (int samples = 0; samples < 40; samples += 39) {
        shot_running_fit *fit;
        shot_running_fit_at at[MOST];
        const shot_running_fit_rule rule = {.reach = {0.5, 0.5, false}, .order = 1};
        assert_int_equal(shot_running_fit_new(&rule, &fit), SHOT_OK);
        size_t count = 0;
        for (int i = 0; i < 200; i++) {
            assert_int_equal(shot_running_fit_push(fit, 0.1 * i, i < samples ? i : NAN), SHOT_OK);
            count += drain(fit, at + count);
        }
        assert_int_equal(count, 200);
        shot_running_fit_free(fit);
    }
}

static void data_shorter_than_the_window_have_no_values(void **state) {
    const double t[] = {0, 1, 2}, y[] = {0, 1, 4};
    const shot_running_fit_rule rule = {.reach = {2, 2, true}, .order = 1},
                                seconds = {.reach = {1.5, 1.5, false}, .order = 1};
    shot_running_fit_at at[4];
    run(&rule, t, y, 3, 1, at);
    assert_true(isnan(at[0].fitted) && isnan(at[1].fitted) && isnan(at[2].fitted));
    run(&seconds, t, y, 3, 1, at);
    assert_true(isnan(at[0].fitted) && isnan(at[1].fitted) && isnan(at[2].fitted));
    run(&rule, t, y, 1, 1, at);
    assert_true(isnan(at[0].fitted));
}

/* Stamps of an epoch clock in seconds, and steps of a microsecond: a line keeps its slope to what
 * the rounding of the stamps (2.4e-7 s of 2 s; 1e-22 s of 1e-5 s) leaves. */
static void unusual_clocks(void **state) {
    static series s;
    static shot_running_fit_at at[MOST + 1];
    const shot_running_fit_rule epoch = {.reach = {1, 1, false}, .order = 2, .derivative = 1},
                                micro = {.reach = {5e-6, 5e-6, false}, .order = 2, .derivative = 1};
    for (size_t i = 0; i < MOST; i++) {
        s.t[i] = 1.7e9 + 0.1 * (double)i;
        s.y[i] = 5 * (s.t[i] - 1.7e9);
    }
    run(&epoch, s.t, s.y, MOST, 1, at);
    for (size_t i = 0; i < MOST; i++)
        assert_close(at[i].fitted, 5, 5e-6);
    for (size_t i = 0; i < MOST; i++) {
        s.t[i] = 1e-6 * (double)i;
        s.y[i] = 5 * s.t[i];
    }
    run(&micro, s.t, s.y, MOST, 1, at);
    for (size_t i = 0; i < MOST; i++)
        assert_close(at[i].fitted, 5, 1e-9);
}

/* A channel that stands for a while keeps its value to the bit, on even times and on others, also
 * where many rows are fitted at once. */
static void what_stands_keeps_its_value(void **state) {
    static series s;
    static shot_running_fit_at rowwise[MOST + 1];
    for (int kind = EVEN; kind < KINDS; kind++)
        for (size_t derivative = 0; derivative < 2; derivative++) {
            const shot_running_fit_rule rule = {
                .reach = {4, 4, true}, .order = 3, .derivative = derivative};
            size_t flat = 0;
            make(&s, kind, 7);
            for (size_t i = 0; i < s.n; i++)
                s.y[i] = isnan(s.y[i]) ? s.y[i] : i % 40 < 25 ? 0.1 : s.y[i];
            run(&rule, s.t, s.y, s.n, 1, rowwise);
            for (size_t i = 0; i < s.n; i++)
                flat += rowwise[i].fitted == (derivative == 0 ? 0.1 : 0);
            assert_true(flat >= s.n / 5);
            check_at_once(&rule, &s, rowwise);
        }
}

static void impossible_rules_are_refused(void **state) {
    const shot_running_fit_rule bad[] = {
        {.reach = {2, 2, true}, .order = 5},
        {.reach = {2, 2, true}, .order = 1, .derivative = 2},
        {.reach = {-1, 2, true}, .order = 1},
        {.reach = {0.5, 2, true}, .order = 1},
    };
    shot_running_fit *fit;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_int_equal(shot_running_fit_new(&bad[i], &fit), SHOT_ERR_RANGE);
        assert_null(fit);
    }
    shot_running_fit_free(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(vectors_of_the_reference),
        cmocka_unit_test(a_rise_of_pressure),
        cmocka_unit_test(all_ways_give_the_fit_of_the_window),
        cmocka_unit_test(a_spike_leaves_no_trace),
        cmocka_unit_test(missing_stays_missing_unless_filled),
        cmocka_unit_test(a_window_short_of_samples_has_no_value),
        cmocka_unit_test(rows_without_a_sample_do_not_count),
        cmocka_unit_test(silence_does_not_hold_back),
        cmocka_unit_test(data_shorter_than_the_window_have_no_values),
        cmocka_unit_test(unusual_clocks),
        cmocka_unit_test(what_stands_keeps_its_value),
        cmocka_unit_test(impossible_rules_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
