/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: delays between channels with their own samples, found with an honest interval, taken
 * out again; the origin of time moved with marks and the log's own clock; and reasons where nothing
 * can be known. */
#include <support/check.h>
#include <support/feed.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "signal/pi.h"

/* What a log of a shot may look like: a rise, a dip, a fall. */
static double shape(double t) {
    return 9 / (1 + exp(-(t - 6) * 2)) - 2 * exp(-(t - 15) * (t - 15) / 2) -
           6 / (1 + exp(-(t - 24) * 2));
}

/* When each channel of a log begins to tell, s. */
typedef struct beginnings {
    double pressure, flow;
} beginnings;

/* Pressure at 10 Hz, and a channel that does the same `delay` s later in the rows between, at
 * 4 Hz; both with noise. */
static void add_log_from(beginnings from, double delay, double sign, double sd, shot_random *random,
                         shot_text *in) {
    shot_text_add(in, "time [s],pressure [bar],flow [ml/s]\n");
    int next = 0;
    for (int i = 0; i <= 300; i++) {
        const double t = i / 10.0;
        shot_text_add_number(in, t);
        shot_text_add(in, ",");
        if (t >= from.pressure)
            shot_text_add_number(in, shape(t) + sd * shot_random_normal(random));
        shot_text_add(in, ",");
        if (4 * t >= next && t >= from.flow) {
            next = (int)(4 * t) + 1;
            shot_text_add_number(in, 5 + sign * 0.4 * shape(t - delay) +
                                         sd * shot_random_normal(random));
        }
        shot_text_add(in, "\n");
    }
}

static void add_log(double delay, double sign, double sd, shot_random *random, shot_text *in) {
    add_log_from((beginnings){0, 0}, delay, sign, sd, random, in);
}

/* The number behind `key` in the first mark of a text; NaN if there is none. */
static double value_of(const char *text, const char *key) {
    const char *mark = strstr(text, "# mark: delay ");
    const char *place = mark ? strstr(mark, key) : NULL;
    return place ? strtod(place + strlen(key), NULL) : NAN;
}

static void a_delay_is_found_with_its_interval(void **state) {
    enum { RUNS = 200 };
    shot_random random = shot_random_at(11, 0);
    int covered = 0;
    for (int k = 0; k < RUNS; k++) {
        shot_text in = {0};
        const double delay = shot_random_between(&random, -1, 1);
        add_log(delay, k % 2 ? 1 : -1, 0.05, &random, &in);
        feed result = feed_chain("align --channel flow", in.bytes, in.length, 0);
        assert_int_equal(result.status, SHOT_OK);
        const double low = value_of(result.out.bytes, "value.low=");
        const double high = value_of(result.out.bytes, "value.high=");
        assert_true(high - low < 0.5);
        covered += low < delay && delay < high;
        feed_free(&result);
        shot_text_free(&in);
    }
    print_message("coverage %.3f\n", (double)covered / RUNS);
    /* 95 % of 200, less three standard deviations of such a count (9.2), less an allowance of 4 %
     * for two channels that are interpolated */
    assert_true(covered >= 173);
}

/* Devices of one log seldom begin together: what only one of them tells counts for nothing. */
static void a_channel_that_begins_later_is_no_later(void **state) {
    const beginnings from[] = {{0, 2}, {2, 0}, {1, 3.3}};
    shot_random random = shot_random_at(13, 0);
    for (size_t i = 0; i < sizeof from / sizeof *from; i++) {
        shot_text in = {0};
        add_log_from(from[i], 0.7, 1, 0.02, &random, &in);
        feed result = feed_chain("align --channel flow", in.bytes, in.length, 0);
        assert_int_equal(result.status, SHOT_OK);
        /* as a_delay_is_taken_out has it */
        assert_true(fabs(value_of(result.out.bytes, "value=") - 0.7) < 0.1);
        feed_free(&result);
        shot_text_free(&in);
    }
}

/* Devices get the time of day, and their clock then leaps by years: a grid over them would take
 * more memory than there is, where the shot before them tells the delay. */
static void a_clock_that_leaps_is_no_trap(void **state) {
    shot_random random = shot_random_at(14, 0);
    shot_text in = {0};
    add_log(0.7, 1, 0.02, &random, &in);
    shot_text_add(&in, "1000000000,0,5\n1000000000.1,0,5\n1000000000.5,0,5\n");
    feed result = feed_chain("align --channel flow", in.bytes, in.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    /* as a_delay_is_taken_out has it */
    assert_true(fabs(value_of(result.out.bytes, "value=") - 0.7) < 0.1);
    assert_true(value_of(result.out.bytes, "to=") <= 30);
    feed_free(&result);
    shot_text_free(&in);
}

static void a_delay_is_taken_out(void **state) {
    shot_random random = shot_random_at(12, 0);
    shot_text in = {0};
    add_log(0.7, 1, 0.02, &random, &in);
    feed once = feed_chain("align --channel flow --apply", in.bytes, in.length, 0);
    assert_int_equal(once.status, SHOT_OK);
    assert_true(fabs(value_of(once.out.bytes, "value=") - 0.7) < 0.1);
    assert_non_null(strstr(once.out.bytes, "\n# noise: flow sd="));
    assert_null(strstr(once.out.bytes, "# noise: pressure")); /* it was not touched */
    feed twice = feed_chain("align --channel flow", once.out.bytes, once.out.length, 0);
    const char *second = strstr(strstr(twice.out.bytes, "# mark: delay ") + 1, "# mark: delay ");
    assert_non_null(second);
    assert_true(fabs(value_of(second, "value=")) < 0.02);
    feed_free(&once);
    feed_free(&twice);
    shot_text_free(&in);
}

static void a_known_delay_is_taken_out(void **state) {
    static const char in[] = "time [s],pressure [bar],weight [g]\n0,1,0\n1,2,\n2,3,4\n3,4,6\n4,5,\n"
                             "5,6,10\n";
    feed result = feed_chain("align --channel weight --delay 0.5s", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_OK);
    /* straight lines at 0.5 s later, where the scale had a sample */
    assert_non_null(strstr(result.out.bytes, "\n0,1,1\n1,2,\n2,3,5\n3,4,7\n4,5,\n5,6,\n"));
    feed_free(&result);
}

static void the_origin_moves_with_marks_and_clock(void **state) {
    static const char in[] =
        "# t0: 1700000000.25\ntime [s],pressure [bar]\n0.1,1\n0.4,2\n0.7,3\n"
        "# mark: brew id=b1 from=0.3 to=0.7 from.low=0.2 from.high=0.4 level=0.95\n"
        "# mark: brew id=b2 refines=b1 from=0.4 to=0.7\n";
    feed result = feed_chain("align --origin brew", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "# t0: 1700000000.65\n"));
    assert_non_null(strstr(result.out.bytes, "\n-0.3,1\n0,2\n0.3,3\n"));
    assert_non_null(strstr(result.out.bytes, "id=b1 from=-0.1 to=0.3 from.low=-0.2 from.high=0"));
    assert_non_null(strstr(result.out.bytes, "# history: shot-align --origin brew\ntime [s]"));
    feed_free(&result);
}

static void a_clock_is_begun_where_there_was_none(void **state) {
    static const char in[] = "# shot: one\n# dose: 18 g\ntime [s],pressure [bar]\n0,1\n1,2\n"
                             "# mark: ramp id=r1 from=0.5\n";
    feed result = feed_chain("align --origin ramp", in, strlen(in), 0);
    assert_non_null(strstr(result.out.bytes,
                           "# shot: one\n# dose: 18 g\n# t0: 0.5\n# history: shot-align --origin "
                           "ramp\ntime [s],pressure [bar]\n-0.5,1\n0.5,2\n"));
    feed_free(&result);
}

static void what_cannot_be_known_is_said(void **state) {
    static const char in[] = "time [s],pressure [bar],flow [ml/s]\n0,1,5\n1,2,6\n2,3,7\n";
    static const struct {
        const char *chain, *note;
    } cases[] = {
        {"align --channel flow --apply", "# note: shot-align: no delay of 'flow': the common"},
        {"align --origin brew", "# note: shot-align: origin left where it was: no mark 'brew'"},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        feed result = feed_chain(cases[k].chain, in, strlen(in), 0);
        assert_int_equal(result.status, SHOT_OK);
        assert_non_null(strstr(result.out.bytes, cases[k].note));
        assert_non_null(strstr(result.out.bytes, "\n0,1,5\n1,2,6\n2,3,7\n"));
        feed_free(&result);
    }
    feed result = feed_chain("align", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_ERR_USAGE);
    feed_free(&result);
}

/* Of a wave the delay is known but for whole periods, and for half of one where the channel may be
 * turned round: none is taken out, and the note names two. A search that holds one top tells it. */
static void a_wave_has_no_one_delay(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "time [s],pressure [bar],flow [ml/s]\n");
    for (int i = 0; i < 300; i++) {
        const double t = i / 10.0;
        shot_text_add_format(&in, "%.1f,%.6f,%.6f\n", t, 5 + sin(t * SHOT_PI),
                             3 + sin((t - 0.3) * SHOT_PI));
    }
    feed result = feed_chain("align --channel flow --apply", in.bytes, in.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "repeat themselves, and "));
    assert_null(strstr(result.out.bytes, "# mark: delay"));
    assert_non_null(strstr(result.out.bytes, "\n0.5,6,3.587785\n"));
    feed_free(&result);
    result = feed_chain("align --channel flow --max-delay 0.6s", in.bytes, in.length, 0);
    assert_close(value_of(result.out.bytes, "value="), 0.3, 0.01);
    feed_free(&result);
    shot_text_free(&in);
}

/* A slip of the pen must not pass for an answer. */
static void what_cannot_be_done_is_an_error(void **state) {
    static const char in[] = "time [s],pressure [bar],flow [ml/s]\n0,1,5\n1,2,6\n2,3,7\n";
    static const struct {
        const char *chain, *what;
    } cases[] = {
        {"align --channel flow --delay 2s", "--delay: shot '1' lasts 2 s, no longer than 2 s"},
        {"align --channel flow --delay -100s", "--delay: shot '1' lasts 2 s, no longer than 100 s"},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        feed result = feed_chain(cases[k].chain, in, strlen(in), 0);
        assert_int_equal(result.status, SHOT_ERR_DATA);
        assert_string_equal(result.error.what, cases[k].what);
        feed_free(&result);
    }
}

/* A slip of the pen must not pass for an answer, and the shot not be lost for it. */
static void a_channel_that_is_not_there_is_told(void **state) {
    static const char in[] = "time [s],pressure [bar],flow [ml/s]\n0,1,5\n1,2,6\n2,3,7\n";
    static const char *const chains[] = {"align --channel weight", "align --channel weight,weight",
                                         "align --channel flow --reference weight",
                                         "align --channel weight --reference weight"};
    for (size_t k = 0; k < sizeof chains / sizeof *chains; k++) {
        feed result = feed_chain(chains[k], in, strlen(in), 0);
        assert_int_equal(result.status, SHOT_OK);
        assert_string_equal(result.notices.bytes,
                            "shot '1' has no channel 'weight'; it has pressure, flow\n");
        assert_non_null(strstr(result.out.bytes, "\n0,1,5\n1,2,6\n2,3,7\n"));
        assert_non_null(
            strstr(result.out.bytes, "# note: shot-align: there is no channel 'weight'\n"));
        feed_free(&result);
    }
}

/* A clock that cannot be read leaves rows and marks where they were, and is an error. */
static void a_clock_that_cannot_be_read_moves_nothing(void **state) {
    static const char in[] = "# t0: noon\ntime,pressure\n0,1\n1,2\n# mark: brew id=b from=1 to=1\n";
    feed result = feed_chain("align --origin brew", in, strlen(in), 0);
    assert_int_equal(result.status, SHOT_ERR_SYNTAX);
    assert_string_equal(result.error.what, "shot '1': '# t0:' is not a number of seconds");
    assert_non_null(strstr(result.out.bytes, "\n0,1\n1,2\n# mark: brew id=b from=1 to=1\n"));
    feed_free(&result);
}

static void a_channel_named_twice_is_shifted_once(void **state) {
    static const char in[] = "time,pressure\n0,1\n1,2\n2,3\n3,4\n4,5\n";
    feed once = feed_chain("align --channel pressure --delay 1s", in, strlen(in), 0);
    feed twice = feed_chain("align --channel pressure,pressure --delay 1s", in, strlen(in), 0);
    assert_string_equal(strstr(once.out.bytes, "time [s]"), strstr(twice.out.bytes, "time [s]"));
    assert_non_null(strstr(once.out.bytes, "\n0,2\n1,3\n"));
    feed_free(&once);
    feed_free(&twice);
}

static void constant_and_empty_channels_are_no_trap(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "time [s],pressure [bar],flow [ml/s],weight [g]\n");
    for (int i = 0; i < 400; i++)
        shot_text_add_format(&in, "%d.%d,%d,5,\n", i / 10, i % 10, i > 200 ? 9 : 1);
    feed result = feed_chain("align --channel flow,weight --apply", in.bytes, in.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "no delay of 'flow'"));
    assert_non_null(strstr(result.out.bytes, "no delay of 'weight'"));
    feed_free(&result);
    shot_text_free(&in);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_delay_is_found_with_its_interval),
        cmocka_unit_test(a_channel_that_begins_later_is_no_later),
        cmocka_unit_test(a_clock_that_leaps_is_no_trap),
        cmocka_unit_test(a_delay_is_taken_out),
        cmocka_unit_test(a_known_delay_is_taken_out),
        cmocka_unit_test(the_origin_moves_with_marks_and_clock),
        cmocka_unit_test(a_clock_is_begun_where_there_was_none),
        cmocka_unit_test(what_cannot_be_known_is_said),
        cmocka_unit_test(a_wave_has_no_one_delay),
        cmocka_unit_test(what_cannot_be_done_is_an_error),
        cmocka_unit_test(a_channel_that_is_not_there_is_told),
        cmocka_unit_test(a_clock_that_cannot_be_read_moves_nothing),
        cmocka_unit_test(a_channel_named_twice_is_shifted_once),
        cmocka_unit_test(constant_and_empty_channels_are_no_trap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
