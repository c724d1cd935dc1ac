/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the knees of the textbook shot are found with intervals that hold them, the small final
 * rise is named with its height, and where nothing can be known the reason is said. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>

#include <support/analytic_shot.h>
#include <support/text_count.h>
#include <support/turns.h>

/* The marks table of a chain run over text. */
static feed marks_of(const char *text) {
    return feed_chain("knees | marks", text, strlen(text), 0);
}

/* Written to `digits` decimals. */
static shot_text textbook(double rate, double noise, int digits, uint64_t seed) {
    const double unit = pow(10, digits);
    analytic_shot *shot;
    shot_text text = {0};
    assert_int_equal(analytic_shot_textbook(rate, noise, seed, &shot), SHOT_OK);
    shot_text_add(&text, "time [s],pressure [bar]\n");
    for (size_t i = 0; i < shot->rows; i++) {
        shot_text_add_number(&text, shot->time[i]);
        shot_text_add(&text, ",");
        shot_text_add_number(&text, round(shot->pressure[i] * unit) / unit);
        shot_text_add(&text, "\n");
    }
    analytic_shot_free(shot);
    return text;
}

/* The row of the table whose `from` is nearest to `time`, or NULL. */
static const char *nearest_knee(const char *table, double time, double *at, double *low,
                                double *high) {
    const char *best = NULL;
    for (const char *row = strchr(table, '\n'); row != NULL && row[1];
         row = strchr(row + 1, '\n')) {
        char line[512];
        double from = NAN, from_low = NAN, from_high = NAN;
        snprintf(line, sizeof line, "%s", row + 1);
        int column = 0;
        for (char *field = line; field != NULL; column++) {
            char *next = strchr(field, ',');
            if (column == 3)
                from = strtod(field, NULL);
            if (column == 8)
                from_low = strtod(field, NULL);
            if (column == 9)
                from_high = strtod(field, NULL);
            field = next ? next + 1 : NULL;
        }
        if (best == NULL || fabs(from - time) < fabs(*at - time)) {
            best = row + 1;
            *at = from;
            *low = from_low;
            *high = from_high;
        }
    }
    return best;
}

static bool has_knee_near(const char *table, double time, double within) {
    double at, low, high;
    return nearest_knee(table, time, &at, &low, &high) != NULL && fabs(at - time) <= within;
}

/* The nearest row; fails if it is over `within` away. */
static const char *knee_near(const char *table, double time, double within, double *at, double *low,
                             double *high) {
    const char *best = nearest_knee(table, time, at, low, high);
    if (best == NULL || fabs(*at - time) > within)
        fail_msg("no knee within %g s of %g s in\n%s", within, time, table);
    return best;
}

/* Twenty textbook shots with noise of 0.01 bar: three times the RMS errors that a continuous
 * least-squares fit has (0.013, 0.015, 0.0007 s) are allowed, and at least 0.05 s. */
static void knees_of_the_textbook_shot(void **state) {
    const double truth[] = {6.5, 7, 27, 28};
    int covered = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_text text = textbook(10, 0.01, 3, seed);
        feed got = marks_of(text.bytes);
        assert_int_equal(got.status, SHOT_OK);
        for (int k = 0; k < 4; k++) {
            double at, low, high;
            const char *row = knee_near(got.out.bytes, truth[k], 0.06, &at, &low, &high);
            covered += low <= truth[k] && truth[k] <= high;
            const char *end = strchr(row, '\n');
            const char *note = strstr(row, "final rise of ");
            assert_true((k == 0) == (note != NULL && note < end));
            if (k == 0) /* 0.3 bar; the mean of half a second of the hold, and the fitted knee */
                assert_close(strtod(note + strlen("final rise of "), NULL), 0.3, 0.05);
        }
        feed_free(&got);
        shot_text_free(&text);
    }
    /* 95 % of 80, less three binomial standard errors */
    assert_in_range(covered, 70, 80);
}

/* Without any noise the same knees are found, and nearer: within half a sample, however many digits
 * are written. */
static void no_noise_is_no_worse(void **state) {
    const double truth[] = {6.5, 7, 27, 28};
    const int digits[] = {2, 3, 6, 12};
    for (int d = 0; d < 4; d++) {
        shot_text text = textbook(10, 0, digits[d], 1);
        feed got = marks_of(text.bytes);
        for (int k = 0; k < 4; k++) {
            double at, low, high;
            const char *row = knee_near(got.out.bytes, truth[k], 0.05, &at, &low, &high);
            const char *note = strstr(row, "final rise of ");
            assert_true(low <= truth[k] && truth[k] <= high);
            assert_true((k == 0) == (note != NULL && note < strchr(row, '\n')));
        }
        feed_free(&got);
        shot_text_free(&text);
    }
}

static int knees_in(const char *table) {
    return (int)count_of(table, ",knee,");
}

/* A hold at 1 bar, a ramp of 4 bar/s from 5 to 7 s and a hold at 9 bar, with noise. */
static double held_and_raised(double t) {
    return 1 + 4 * fmin(2, fmax(0, t - 5));
}

/* Where the noise tells that the logger smoothed its gauge, the knee of the gauge, which came
 * earlier, lies in the interval: in two of three otherwise. */
static void a_smoothing_logger_is_late(void **state) {
    const double step = 0.004, tau = 0.2;
    int held = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_random random = shot_random_at(seed, 4);
        shot_text text = {0};
        double shown = 1;
        shot_text_add(&text, "time [s],pressure [bar]\n");
        for (int i = 0; i < 5000; i++) {
            const double gauge = held_and_raised(step * i) + 0.3 * shot_random_normal(&random);
            shown += (gauge - shown) * step / tau;
            if (i % 10 == 0)
                shot_text_add_format(&text, "%.3f,%.4f\n", step * i, shown);
        }
        feed got = marks_of(text.bytes);
        double at, low, high;
        for (int k = 0; k < 2; k++) {
            knee_near(got.out.bytes, 5 + 2 * k, 0.5, &at, &low, &high);
            held += low <= 5 + 2 * k && 5 + 2 * k <= high;
        }
        feed_free(&got);
        shot_text_free(&text);
    }
    /* 95 % of 40, less three binomial standard errors */
    assert_in_range(held, 34, 40);
}

/* Knees of a pressure of 5 bar + f(t) over ten seconds, fifty rows a second. */
static int knees_of(double (*f)(double t)) {
    shot_random random = shot_random_at(8, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime [s],pressure [bar]\n");
    for (int i = 0; i < 500; i++)
        shot_text_add_format(&text, "%.2f,%.3f\n", 0.02 * i,
                             5 + f(0.02 * i) + 0.005 * shot_random_normal(&random));
    feed got = marks_of(text.bytes);
    assert_int_equal(got.status, SHOT_OK);
    const int count = knees_in(got.out.bytes);
    feed_free(&got);
    shot_text_free(&text);
    return count;
}

static double rise_from(double t, double start, double slope) {
    return fmax(0, t - start) * slope;
}

static double flank(double t) {
    return rise_from(t, 4, 0.8) + rise_from(t, 4.35, 1.6) - rise_from(t, 7, 2.4);
}

static double twins(double t) {
    return rise_from(t, 4, 0.6) + rise_from(t, 4.6, 0.6) - rise_from(t, 7, 1.2);
}

/* By the definition: the slopes over 0.2 s change most at the greater of two breaks of one sign
 * 0.35 s apart, and the lesser is no knee of its own; of two 0.6 s apart both are. */
static void a_greater_knee_hides_its_flank(void **state) {
    assert_int_equal(knees_of(flank), 2);
    assert_int_equal(knees_of(twins), 3);
}

/* Three seconds of 4.6 Hz, as the strokes of a pump at 50 Hz look in 45.4 rows a second: over 0.2 s
 * its slopes hardly change, though from close by each crest is a break that stands out.  The two
 * knees are those of the rise to 9 bar. */
static double rippled(double t) {
    const double pi = 3.141592653589793;
    const double rise = rise_from(t, 1, 4) - rise_from(t, 2, 4);
    return t > 4 && t < 7 ? rise + 0.075 * sin(pi * (t - 4) / 3) * sin(2 * pi * 4.6 * t) : rise;
}

static void a_ripple_has_no_knees(void **state) {
    assert_int_equal(knees_of(rippled), 2);
}

/* Two rows a second cannot tell the two knees half a second apart, but the others to a sample, and
 * add no more than one of their own; a thousand rows a second in noise of 0.05 bar tell all as well
 * as ten times a second do at less noise.  One knee too many in five shots is allowed. */
static void any_rate_gives_sensible_knees(void **state) {
    int slow = 0, fast = 0;
    for (uint64_t seed = 0; seed < 5; seed++) {
        double at, low, high;
        shot_text text = textbook(2, 0.02, 2, seed);
        feed got = marks_of(text.bytes);
        knee_near(got.out.bytes, 6.75, 0.5, &at, &low, &high);
        knee_near(got.out.bytes, 27, 0.5, &at, &low, &high);
        knee_near(got.out.bytes, 28, 0.5, &at, &low, &high);
        slow += knees_in(got.out.bytes);
        feed_free(&got);
        shot_text_free(&text);
        text = textbook(1000, 0.05, 2, seed);
        got = marks_of(text.bytes);
        knee_near(got.out.bytes, 6.5, 0.06, &at, &low, &high);
        knee_near(got.out.bytes, 7, 0.06, &at, &low, &high);
        knee_near(got.out.bytes, 27, 0.01, &at, &low, &high);
        knee_near(got.out.bytes, 28, 0.01, &at, &low, &high);
        fast += knees_in(got.out.bytes);
        feed_free(&got);
        shot_text_free(&text);
    }
    assert_in_range(slow, 15,
                    26); /* the start of the log is a knee of its own where rows precede */
    assert_in_range(fast, 20, 26);
}

static void a_flat_line_has_no_knees(void **state) {
    feed got = marks_of("time,pressure\n0,9\n1,9\n2,9\n3,9\n4,9\n5,9\n6,9\n7,9\n8,9\n");
    assert_int_equal(got.status, SHOT_OK);
    assert_null(strstr(got.out.bytes, "knee,"));
    feed_free(&got);
}

static void expect_note(const char *in, const char *note) {
    feed got = feed_chain("knees", in, strlen(in), 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, note));
    feed_free(&got);
}

static void what_cannot_be_known_is_said(void **state) {
    expect_note("time,flow\n0,1\n",
                "# note: shot-knees: no knees of pressure: the log has no such channel\n");
    expect_note("time,pressure\n0,1\n1,\n2,3\n",
                "# note: shot-knees: no knees of pressure: it has fewer than 5 values\n");
}

/* Squares of 1e-180 are 0, and of sums that are all 0 none is the least: the search did not end. */
static void values_too_small_to_square_are_said(void **state) {
    shot_text text = {0};
    shot_text_add(&text, "time,pressure\n");
    for (int i = 0; i < 300; i++)
        shot_text_add_format(&text, "%.1f,%de-180\n", i / 10.0,
                             i < 100   ? 0
                             : i < 150 ? i - 100
                                       : 50);
    expect_note(text.bytes, "no knees of pressure: its values are under 1e-60 or over 1e60");
    shot_text_free(&text);
}

/* After a filter changed the channel there is a knee, but no interval. */
static void no_interval_after_processing(void **state) {
    shot_text text = {0}, plain = textbook(10, 0.01, 3, 3);
    shot_text_add(&text, "# noise: pressure sd=0.01 corr=0s\n");
    shot_text_add(&text, plain.bytes);
    feed got = marks_of(text.bytes);
    double at, low, high;
    knee_near(got.out.bytes, 27, 0.06, &at, &low, &high);
    assert_true(low == 0 && high == 0); /* empty fields */
    feed_free(&got);
    shot_text_free(&text);
    shot_text_free(&plain);
}

/* A gauge at the pump: 8.6 bar after half a second, which the jet takes at 8 ml/s; from 5 s on
 * pressure builds up behind it, the flow falls towards 2 ml/s and the gauge rises to 9 bar, both
 * with a time constant of 1 s.  The rise of 0.4 bar starts with 0.4 bar/s in noise of 0.05 bar at
 * 10 Hz, where the pressure alone tells little. */
static shot_text rising_log(const char *gauge, bool with_flow, uint64_t seed) {
    shot_random random = shot_random_at(63, seed);
    shot_text text = {0};
    shot_text_add_format(&text, "# gauge: %s\ntime [s],pressure [bar]%s\n", gauge,
                         with_flow ? ",flow [ml/s]" : "");
    for (int i = 0; i < 250; i++) {
        double t = i / 10.0, filled = t > 5 ? 1 - exp(-(t - 5)) : 0;
        double p = fmin(8.6, 17.2 * t) + 0.4 * filled, q = fmin(8, 16 * t) - 6 * filled;
        shot_text_add_format(&text, "%.1f,%.2f", t, p + 0.05 * shot_random_normal(&random));
        if (with_flow)
            shot_text_add_format(&text, ",%.2f", q + 0.08 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return text;
}

/* 20 logs, the start within 0.3 s (three samples) and the height within 0.15 bar (three times the
 * noise); a gauge at the puck cannot show such a rise. */
static void the_flow_tells_the_final_rise(void **state) {
    for (uint64_t seed = 0; seed < turns(20); seed++) {
        shot_text text = rising_log("pump", true, seed), puck = rising_log("puck", true, seed);
        feed got = marks_of(text.bytes), none = marks_of(puck.bytes);
        double at = NAN, low = NAN, high = NAN;
        const char *row = knee_near(got.out.bytes, 5, 0.3, &at, &low, &high);
        const char *note = strstr(row, "final rise of ");
        assert_non_null(note);
        assert_close(strtod(note + strlen("final rise of "), NULL), 0.4, 0.15);
        assert_true(low < at && at < high);
        assert_null(strstr(none.out.bytes, "final rise"));
        feed_free(&got);
        feed_free(&none);
        shot_text_free(&text);
        shot_text_free(&puck);
    }
}

/* A pump at 9 bar in 0.6 s; at 15 s a channel opens and takes 0.4 bar, which comes back over the
 * next 3 s while the flow of 6 ml/s falls to 2 ml/s: a recovery, since the pressure had been there.
 */
static void a_recovery_is_no_final_rise(void **state) {
    for (uint64_t seed = 0; seed < turns(20); seed++) {
        shot_random random = shot_random_at(64, seed);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: pump\ntime [s],pressure [bar],flow [ml/s]\n");
        for (int i = 0; i < 250; i++) {
            double t = i / 10.0, open = t < 15 ? 0 : fmin((t - 15) / 0.5, 1);
            double left = open * (t < 18 ? 1 : exp(-(t - 18)));
            double p = fmin(9, 15 * t) - 0.4 * left, q = fmin(2, 4 * t) + 4 * left;
            shot_text_add_format(&text, "%.1f,%.2f", t, p + 0.03 * shot_random_normal(&random));
            shot_text_add_format(&text, ",%.2f\n", q + 0.08 * shot_random_normal(&random));
        }
        feed got = marks_of(text.bytes);
        assert_non_null(strstr(got.out.bytes, ",knee,"));
        assert_null(strstr(got.out.bytes, "final rise"));
        feed_free(&got);
        shot_text_free(&text);
    }
}

/* A machine stands at 8.4 bar within half a second; at 10 s somebody raises it by 0.4 bar, within a
 * second, and the flow of 2 ml/s goes up by as large a share: nine standard errors of what tells
 * it.  Without the flow it looks like the last rise of a restricted machine. */
static void a_raise_on_purpose_is_no_final_rise(void **state) {
    int taken = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_random random = shot_random_at(66, seed);
        shot_text both = {0}, alone = {0};
        shot_text_add(&both, "# gauge: pump\ntime [s],pressure [bar],flow [ml/s]\n");
        shot_text_add(&alone, "# gauge: pump\ntime [s],pressure [bar]\n");
        for (int i = 0; i < 250; i++) {
            const double t = i / 10.0, raised = fmin(fmax(t - 10, 0), 1);
            const double p = fmin(8.4, 16 * t) + 0.4 * raised + 0.02 * shot_random_normal(&random);
            const double q = fmin(2, 4 * t) * (1 + 0.4 / 8.4 * raised);
            shot_text_add_format(&both, "%.1f,%.2f,%.2f\n", t, p,
                                 q + 0.03 * shot_random_normal(&random));
            shot_text_add_format(&alone, "%.1f,%.2f\n", t, p);
        }
        feed got = marks_of(both.bytes), less = marks_of(alone.bytes);
        assert_null(strstr(got.out.bytes, "final rise"));
        taken += strstr(less.out.bytes, "final rise") != NULL;
        feed_free(&got);
        feed_free(&less);
        shot_text_free(&both);
        shot_text_free(&alone);
    }
    assert_true(taken >= 10); /* so that the test can fail */
}

/* Pressure is held at 8 bar in noise of 0.03 bar; at 10 s the puck chokes and the flow falls by two
 * fifths within a second or two: nothing rises. */
static void a_choking_puck_is_no_final_rise(void **state) {
    for (uint64_t seed = 0; seed < turns(30); seed++) {
        shot_random random = shot_random_at(65, seed);
        shot_text text = {0};
        shot_text_add(&text, "time [s],pressure [bar],flow [ml/s]\n");
        for (int i = 0; i < 140; i++) {
            double t = i / 5.0, chokes = t < 10 ? 0 : 1 - exp(10 - t);
            double p = 8 * (1 - exp(-2 * t)), q = 2.4 * (1 - exp(-3 * t)) * (1 - 0.4 * chokes);
            shot_text_add_format(&text, "%.1f,%.2f", t, p + 0.03 * shot_random_normal(&random));
            shot_text_add_format(&text, ",%.2f\n", q + 0.05 * shot_random_normal(&random));
        }
        feed got = marks_of(text.bytes);
        assert_null(strstr(got.out.bytes, "final rise"));
        feed_free(&got);
        shot_text_free(&text);
    }
}

/* The slope grows by 6 bar/s over 0.6 s: one rounded knee, whose two ends noise made two knees in
 * 3 of these logs when each was judged alone. */
static void a_rounded_knee_is_one(void **state) {
    int more = 0;
    for (uint64_t seed = 0; seed < turns(100); seed++) {
        shot_random random = shot_random_at(66, seed);
        shot_text text = {0};
        shot_text_add(&text, "time [s],pressure [bar]\n");
        for (int i = 0; i < 120; i++) {
            const double t = i / 10.0, u = fmin(0.6, fmax(0, t - 6));
            const double p = 2 + 5 * u * u + 6 * fmax(0, t - 6.6);
            shot_text_add_format(&text, "%.1f,%.4f\n", t, p + 0.03 * shot_random_normal(&random));
        }
        feed got = marks_of(text.bytes);
        more += count_of(got.out.bytes, ",knee,") > 1;
        feed_free(&got);
        shot_text_free(&text);
    }
    print_message("more than one knee in %d of %u\n", more, turns(100));
    assert_in_range(more, 0, 1);
}

/* Four pulses of two seconds, 5 s apart, then nothing: the one row that came early has, alone of
 * all, two others on either side within 0.7 s, and it lies at the edge of a pulse, where nothing is
 * noise.  Of the 16 breaks 14 at least are found to a row, with not more than two knees besides. */
static double pulsed(double t) {
    const double in = fmod(t, 5);
    return rise_from(in, 1, 12) - rise_from(in, 1.5, 12) - rise_from(in, 2.5, 6) +
           rise_from(in, 3.5, 6);
}

static void a_row_that_came_early_hides_no_pulses(void **state) {
    static const double edges[] = {1, 1.5, 2.5, 3.5};
    int near = 0;
    shot_random random = shot_random_at(67, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime [s],pressure [bar]\n");
    for (int i = 0; i < 100; i++) {
        const double t = i == 3 ? 1.12 : 0.44 * i, p = t < 20 ? pulsed(t) : 0;
        shot_text_add_format(&text, "%.2f,%.3f\n", t, p + 0.05 * shot_random_normal(&random));
    }
    feed got = marks_of(text.bytes);
    for (int k = 0; k < 16; k++)
        near += has_knee_near(got.out.bytes, 5 * (k / 4) + edges[k % 4], 0.44);
    const int found = knees_in(got.out.bytes);
    print_message("%d knees, %d of 16 breaks have one\n", found, near);
    feed_free(&got);
    shot_text_free(&text);
    assert_in_range(near, 14, 16);
    assert_in_range(found, near, near + 2);
}

/* The best straight pieces have their joints at the knees of the textbook shot. */
static void the_linear_model_finds_the_joints(void **state) {
    const double truth[] = {6.5, 7, 27, 28};
    shot_text text = textbook(10, 0.01, 3, 4);
    feed got = feed_chain("knees --model linear | marks", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    for (int k = 0; k < 4; k++) {
        double at = NAN, low = NAN, high = NAN;
        knee_near(got.out.bytes, truth[k], 0.06, &at, &low, &high);
        assert_true(low < at && at < high);
    }
    feed_free(&got);
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(knees_of_the_textbook_shot),
        cmocka_unit_test(no_noise_is_no_worse),
        cmocka_unit_test(a_smoothing_logger_is_late),
        cmocka_unit_test(a_greater_knee_hides_its_flank),
        cmocka_unit_test(a_ripple_has_no_knees),
        cmocka_unit_test(any_rate_gives_sensible_knees),
        cmocka_unit_test(a_flat_line_has_no_knees),
        cmocka_unit_test(what_cannot_be_known_is_said),
        cmocka_unit_test(values_too_small_to_square_are_said),
        cmocka_unit_test(no_interval_after_processing),
        cmocka_unit_test(the_flow_tells_the_final_rise),
        cmocka_unit_test(a_recovery_is_no_final_rise),
        cmocka_unit_test(a_raise_on_purpose_is_no_final_rise),
        cmocka_unit_test(a_choking_puck_is_no_final_rise),
        cmocka_unit_test(a_rounded_knee_is_one),
        cmocka_unit_test(a_row_that_came_early_hides_no_pulses),
        cmocka_unit_test(the_linear_model_finds_the_joints),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
