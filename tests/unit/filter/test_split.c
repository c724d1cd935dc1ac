/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is a shot of a continuous log, where it begins and ends, and that its rows, clock
 * and marks stay what they were.  Whole simulated days: tests/outside/split_days.py. */
#include <support/feed.h>
#include <support/text_count.h>

#include <stdio.h>

/* A log at 10 Hz under construction. */
typedef struct log {
    shot_text text;
    double time;
} log_text;

static void start(log_text *log, const char *head) {
    *log = (log_text){0};
    shot_text_add(&log->text, head);
    shot_text_add(&log->text, "time [s],pressure [bar],flow [ml/s],weight [g]\n");
}

static void stretch(log_text *log, double seconds, double p, double q, double w, double rate) {
    for (int i = 0; i < (int)lround(seconds * 10); i++) {
        shot_text_add_format(&log->text, "%.1f,%.3f,%.3f,%.2f\n", log->time, p, q,
                             w + rate * i / 10);
        log->time += 0.1;
    }
}

/* Fill of 24 ml, 20 s of brewing, 30 g. */
static void shot(log_text *log) {
    stretch(log, 3, 0.1, 8, 0, 0);
    stretch(log, 5, 9, 2, 0, 0);
    stretch(log, 15, 9, 2, 0, 2);
    stretch(log, 10, 0, 0, 30, 0);
}

static feed split(log_text *log, const char *options, size_t block) {
    shot_text chain = {0};
    shot_text_add_format(&chain, "split %s", options);
    feed got = feed_chain(chain.bytes, log->text.bytes, log->text.length, block);
    if (got.status != SHOT_OK)
        fail_msg("%s", got.error.what);
    shot_text_free(&chain);
    return got;
}

static void a_day_of_all_sorts(void **state) {
    log_text log;
    start(&log, "# shot: day\n# dose: 18 g\n");
    stretch(&log, 20, 0, 0, 0, 0);
    stretch(&log, 4, 0.3, 8, 0, 0); /* a flush */
    stretch(&log, 15, 0, 0, 0, 0);
    shot(&log); /* water comes on at 39 s */
    stretch(&log, 60, 0, 0, 0, 0);
    for (int i = 0; i < 4; i++) { /* a blind basket */
        stretch(&log, 1, 5, 8, 0, 0);
        stretch(&log, 7, 9, 0, 0, 0);
        stretch(&log, 6, 0, 0, 0, 0);
    }
    stretch(&log, 60, 0, 0, 0, 0);
    shot(&log); /* at 39 + 33 + 60 + 56 + 60 = 248 s */
    feed got = split(&log, "", 0);
    assert_int_equal(count_of(got.out.bytes, "# shot: day-00"), 2);
    assert_non_null(strstr(got.out.bytes, "# shot: day-001\n# dose: 18 g\n# t0: 39\n"));
    assert_non_null(strstr(got.out.bytes, "# shot: day-002\n# dose: 18 g\n# t0: 248\n"));
    assert_int_equal(count_of(got.out.bytes, "\n-2,0,0,0\n"), 2); /* the lead */
    assert_string_equal(got.notices.bytes, "");
    feed_free(&got);
    got = split(&log, "--also flush,cleaning", 0);
    assert_int_equal(count_of(got.out.bytes, "# kind: flush"), 1);
    assert_int_equal(count_of(got.out.bytes, "# kind: cleaning"), 1);
    feed_free(&got);
    shot_text_free(&log.text);
}

/* Water shut off for 30 s after 30 ml, pressure gone, then the main rise at once: one shot. */
static void a_soak_is_not_the_end(void **state) {
    log_text log;
    start(&log, "");
    stretch(&log, 10, 0, 0, 0, 0);
    stretch(&log, 4, 0.1, 7, 0, 0);
    stretch(&log, 2, 2, 2, 0, 0);
    stretch(&log, 30, 0, 0, 0, 0);
    stretch(&log, 1, 3, 5, 0, 0);
    stretch(&log, 5, 9, 2, 0, 0);
    stretch(&log, 15, 9, 2, 0, 2);
    stretch(&log, 20, 0, 0, 30, 0);
    feed got = split(&log, "", 0);
    assert_int_equal(count_of(got.out.bytes, "# shot: "), 1);
    assert_non_null(strstr(got.out.bytes, "# t0: 10\n"));
    assert_non_null(strstr(got.out.bytes, "\n56.9,9,2,29.8\n")); /* the last row under pressure */
    assert_null(strstr(got.out.bytes, "\n66.9,"));               /* 5 s and what a valve takes */
    feed_free(&got);
    shot_text_free(&log.text);
}

/* A flush right behind the shot is not part of it, and a shot behind a flush begins on its own. */
static void a_flush_is_no_part_of_a_shot(void **state) {
    log_text log;
    start(&log, "");
    stretch(&log, 10, 0, 0, 0, 0);
    shot(&log);
    stretch(&log, 4, 0.2, 8, 30, 0);
    stretch(&log, 12, 0, 0, 0, 0);
    shot(&log); /* at 10 + 33 + 4 + 12 = 59 s */
    feed got = split(&log, "", 0);
    assert_int_equal(count_of(got.out.bytes, "# shot: "), 2);
    assert_non_null(strstr(got.out.bytes, "# t0: 59\n"));
    feed_free(&got);
    shot_text_free(&log.text);
}

/* Against a blind basket pressure stands without flow, and a valve lets go of it at once: what runs
 * within a soak's time behind it is another event, however little fills its headspace.  Where the
 * pressure goes slowly, as a held puck lets go of it, it was a pre-wetting. */
static void a_cleaning_is_no_pre_wetting(void **state) {
    for (int held = 0; held < 2; held++) {
        log_text log;
        start(&log, "");
        stretch(&log, 10, 0, 0, 0, 0);
        stretch(&log, 1, 5, 8, 0, 0);
        stretch(&log, 7, 9, 0, 0, 0);
        for (int i = 0; held && i < 30; i++)
            stretch(&log, 0.1, 9 * exp(-i / 10.0), 0, 0, 0);
        stretch(&log, held ? 27 : 30, 0, 0, 0, 0);
        stretch(&log, 1, 0.1, 8, 0, 0); /* at 48 s */
        stretch(&log, 5, 9, 2, 0, 0);
        stretch(&log, 15, 9, 2, 0, 2);
        stretch(&log, 10, 0, 0, 30, 0);
        feed got = split(&log, "", 0);
        assert_int_equal(count_of(got.out.bytes, "# shot: "), 1);
        assert_non_null(strstr(got.out.bytes, held ? "# t0: 10\n" : "# t0: 48\n"));
        feed_free(&got);
        shot_text_free(&log.text);
    }
}

/* Bytes may come one at a time, with a pause behind each: the same text. */
static void blocks_carry_no_meaning(void **state) {
    log_text log;
    start(&log, "# t0: 1700000000.5\n");
    stretch(&log, 5, 0, 0, 0, 0);
    shot(&log);
    stretch(&log, 1, 0.2, 8, 0, 0);
    stretch(&log, 8, 0, 0, 0, 0);
    stretch(&log, 3, 0.1, 8, 0, 0); /* from 47 s on */
    stretch(&log, 15, 9, 2, 0, 2);
    shot_text_add(&log.text, "# mark: note id=n1 from=64\n");
    stretch(&log, 5, 9, 2, 30, 2);
    feed whole = split(&log, "--name time", 0);
    for (size_t block = 1; block < 3000; block = 7 * block + 1) {
        feed cut = split(&log, "--name time", block);
        assert_string_equal(cut.out.bytes, whole.out.bytes);
        feed_free(&cut);
    }
    /* 1700000005.5 s after 1970 is 2023-11-14 22:13:25.5 UTC: date -u -d @1700000005 */
    assert_non_null(strstr(whole.out.bytes, "# shot: 1-2023-11-14T221325Z\n# t0: 1700000005.5\n"));
    assert_non_null(strstr(whole.out.bytes, "# mark: note id=n1 from=17\n"));
    feed_free(&whole);
    shot_text_free(&log.text);
}

/* A mark of a shot that has gone is lost, and said to be. */
static void a_late_mark_is_told(void **state) {
    log_text log;
    start(&log, "");
    stretch(&log, 5, 0, 0, 0, 0);
    shot(&log);
    stretch(&log, 100, 0, 0, 0, 0);
    shot_text_add(&log.text, "# mark: knee id=k1 from=10\n");
    feed got = split(&log, "", 0);
    assert_int_equal(count_of(got.out.bytes, "# mark"), 0);
    assert_non_null(strstr(got.notices.bytes, "1 mark came when its shot had gone, and is lost"));
    feed_free(&got);
    shot_text_free(&log.text);
}

/* What a gauge of absolute pressure reads at rest, or one whose zero is off, is not water that
 * runs; a first reading that was none of its zero does no harm for long. */
static void a_gauge_need_not_read_zero_at_rest(void **state) {
    const double rest[] = {0.4, 0.98, 1.03};
    for (size_t i = 0; i < sizeof rest / sizeof *rest; i++) {
        log_text log;
        start(&log, "# shot: day\n");
        for (int k = 0; k < 3; k++) {
            stretch(&log, 30, rest[i], 0, 0, 0);
            stretch(&log, 3, rest[i] + 0.1, 8, 0, 0);
            stretch(&log, 5, rest[i] + 9, 2, 0, 0);
            stretch(&log, 15, rest[i] + 9, 2, 0, 2);
            stretch(&log, 40, rest[i], 0, 30, 0);
        }
        feed got = split(&log, "", 0);
        assert_int_equal(count_of(got.out.bytes, "# shot: "), 3);
        assert_int_equal(count_of(got.out.bytes, "# t0: 30\n"),
                         1); /* the first begins with its water */
        feed_free(&got);
        shot_text_free(&log.text);
    }
}

static void a_log_that_begins_with_a_spike_has_its_shots(void **state) {
    log_text log;
    start(&log, "# shot: day\n");
    stretch(&log, 0.1, 1.05, 0, 0, 0);
    stretch(&log, 30, 0.02, 0, 0, 0);
    shot(&log);
    stretch(&log, 60, 0.02, 0, 0, 0);
    shot(&log);
    feed got = split(&log, "", 0);
    assert_int_equal(count_of(got.out.bytes, "# shot: "), 2);
    feed_free(&got);
    shot_text_free(&log.text);
}

static void what_tells_nothing_is_refused(void **state) {
    static const char in[] = "time,temperature\n0,90\n";
    feed got = feed_chain("split", in, strlen(in), 0);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
    got = feed_chain("split --also tea", in, strlen(in), 0);
    assert_int_equal(got.status, SHOT_ERR_USAGE);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_day_of_all_sorts),
        cmocka_unit_test(a_soak_is_not_the_end),
        cmocka_unit_test(a_flush_is_no_part_of_a_shot),
        cmocka_unit_test(a_cleaning_is_no_pre_wetting),
        cmocka_unit_test(blocks_carry_no_meaning),
        cmocka_unit_test(a_late_mark_is_told),
        cmocka_unit_test(a_gauge_need_not_read_zero_at_rest),
        cmocka_unit_test(a_log_that_begins_with_a_spike_has_its_shots),
        cmocka_unit_test(what_tells_nothing_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
