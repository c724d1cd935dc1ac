/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a person marked is not outvoted by a detector: it is taken as it is, with the
 * interval of a stopwatch or its own; the rest is found between such marks; each event counts once,
 * in a file and while the shot runs; and where the log shows another time, that is said. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

/* A needle read every second: nothing until 6 s, 3 bar held, 9 bar from 13 to 30 s. */
static const double needle[] = {0,   0,   0,   0,   0,   0,   0,   0.5, 2,   3,   3.2, 5,
                                8,   9,   9,   9,   9,   8.9, 8.9, 8.8, 8.8, 8.7, 8.7, 8.6,
                                8.6, 8.5, 8.5, 8.5, 8.4, 8.4, 8.4, 3,   1,   0,   0,   0};

/* `mark` stands behind the row of second `after`; before the end where it is beyond all rows. */
static feed marked(const char *chain, const char *head, const char *mark, size_t after,
                   size_t block) {
    const size_t rows = sizeof needle / sizeof *needle;
    shot_text text = {0};
    shot_text_add_format(&text, "%stime,pressure\n", head);
    for (size_t i = 0; i < rows; i++) {
        shot_text_add_format(&text, "%zu,%.1f\n", i, needle[i]);
        if (i == after || (i + 1 == rows && after >= rows))
            shot_text_add(&text, mark);
    }
    if (head[0] != '\0') /* a stream with a history says where it ends */
        shot_text_add_format(&text, "# end: rows=%zu\n# close: shots=1\n", rows);
    return feed_log_in_blocks(chain, &text, block);
}

static feed by_hand(const char *mark) {
    return marked("segment", "", mark, 99, 0);
}

/* The table of marks of which each is the last word. */
static bool has_row(const feed *got, const char *row) {
    return strstr(got->out.bytes, row) != NULL;
}

static const char water[] = "# mark: preinfusion id=p1 from=2 to=2\n";

static void test_a_marked_start_is_kept(void **state) {
    feed got = marked("segment | marks", "", water, 99, 0);
    assert_true(has_row(&got, ",preinfusion,2,12.55,,,,1.8,2.2,"));
    assert_true(has_row(&got, ",fill,2,"));
    assert_true(has_row(&got, ",0.95,p1,")); /* it refines the person's */
    assert_null(strstr(strstr(got.out.bytes, "preinfusion") + 1, "preinfusion,"));
    feed_free(&got);
}

static void test_what_nobody_marked_is_found_as_before(void **state) {
    feed with = marked("segment | marks", "", water, 99, 0);
    feed without = marked("segment | marks", "", "", 99, 0);
    static const char *const same[] = {"brew,12.55,30.5,", "release,30.5,32.5,"};
    for (size_t i = 0; i < 2; i++)
        assert_true(has_row(&with, same[i]) && has_row(&without, same[i]));
    assert_true(has_row(&without, "preinfusion,6.533208,"));
    feed_free(&with);
    feed_free(&without);
}

static void test_a_first_drop_needs_no_scale(void **state) {
    feed got = by_hand("# mark: first-drip id=fd1 from=8.2 to=8.2 note=seen taste=sour\n");
    assert_non_null(strstr(got.out.bytes, "# mark: first-drip id=fd2 from=8.2 to=8.2 from.low=8 "
                                          "from.high=8.4 to.low=8 to.high=8.4 level=0.95 "
                                          "refines=fd1 note=seen taste=sour\n"));
    assert_null(strstr(got.out.bytes, "no first drip"));
    feed_free(&got);
}

static void test_an_interval_of_its_own_counts(void **state) {
    feed got = by_hand("# mark: brew id=b1 from=13 to=29 from.low=12 from.high=14 to.low=28 "
                       "to.high=28.5 level=0.95\n");
    const char *brew = strstr(got.out.bytes, "# mark: brew id=b2");
    assert_non_null(brew);
    assert_non_null(
        strstr(brew, "from=13 to=29 from.low=12 from.high=14 to.low=28.8 to.high=29.2"));
    assert_non_null(strstr(got.out.bytes, "# mark: preinfusion id=p1 from=6.533208 to=13 "));
    assert_non_null(strstr(got.out.bytes, "# mark: release id=r2 from=29 "));
    feed_free(&got);
}

static void test_a_disagreement_is_said(void **state) {
    feed got = by_hand("# mark: brew id=b1 from=12.5 to=20\n");
    assert_non_null(strstr(got.out.bytes,
                           "# note: shot-segment: end of the brew was marked by hand "
                           "10.5 s before the log shows it; the hand's is taken"));
    assert_null(strstr(got.out.bytes, "full pressure was marked"));
    assert_non_null(strstr(got.out.bytes, "# mark: release id=r2 from=20 "));
    feed_free(&got);
}

/* What lies on the wrong side of a marked instant moves to it. */
static void test_the_order_holds(void **state) {
    feed got = by_hand("# mark: ramp id=r1 from=5 to=6\n");
    double from, to, before = -INFINITY;
    static const char *const order[] = {"fill", "ramp", "brew", "release"};
    for (size_t i = 0; i < 4; i++) {
        assert_true(mark_of(got.out.bytes, order[i], &from, &to));
        assert_true(from >= before && to >= from);
        before = from;
    }
    feed_free(&got);
}

/* As medians of several shots may be, of which some lack a mark. */
static void test_marks_that_disagree_give_none_that_ends_before_it_starts(void **state) {
    feed got = by_hand("# mark: brew id=b from=13 to=31\n# mark: release id=r from=20 to=25\n");
    double from, to;
    assert_true(mark_of(got.out.bytes, "release", &from, &to));
    assert_close(from, 31, 0.01);
    assert_close(to, 32.5, 1);
    feed_free(&got);
}

static void test_every_pair_of_marks_keeps_the_order(void **state) {
    static const char *const kinds[] = {"preinfusion", "fill", "soak", "ramp", "brew", "release"};
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
        for (int from = -1; from < 36; from += 3)
            for (int length = 0; length < 36; length += 5) {
                char mark[96];
                snprintf(mark, sizeof mark, "# mark: %s id=x from=%d to=%d\n", kinds[k], from,
                         from + length);
                feed got = by_hand(mark);
                double a, b;
                assert_true(mark_of(got.out.bytes, kinds[k], &a, &b));
                assert_true(a == from && (length == 0 || b == from + length));
                for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
                    if (mark_of(got.out.bytes, kinds[i], &a, &b) && !isnan(b))
                        assert_true(b >= a);
                feed_free(&got);
            }
}

/* The mark comes while the shot runs, before and after the detector told of its own. */
static void test_each_event_counts_once_while_it_runs(void **state) {
    for (size_t after = 1; after < 40; after++) {
        feed whole = marked("segment", "", water, after, 0);
        feed live = marked("segment", "", water, after, 7);
        assert_string_equal(whole.out.bytes, live.out.bytes);
        feed table = marked("segment | marks", "", water, after, 0);
        const char *first = strstr(table.out.bytes, ",preinfusion,2,12.55,");
        assert_non_null(first);
        assert_null(strstr(first + 1, ",preinfusion,"));
        feed_free(&whole);
        feed_free(&live);
        feed_free(&table);
    }
}

/* A second pass of the detector is no person. */
static void test_estimates_are_no_marks_by_hand(void **state) {
    static const char estimate[] =
        "# mark: preinfusion id=p1 from=2 to=9 from.low=1.9 from.high=2.1 to.low=8 to.high=10 "
        "level=0.95\n";
    feed again = marked("segment | marks", "# history: shot-segment\n", estimate, 99, 0);
    assert_true(has_row(&again, ",preinfusion,6.533208,12.55,"));
    feed tagged = marked("segment | marks", "# history: shot-tag --marks\n", estimate, 99, 0);
    assert_true(has_row(&tagged, ",preinfusion,2,9,,,,1.9,2.1,8,10,"));
    feed_free(&again);
    feed_free(&tagged);
}

/* What was marked before shot-segment counts behind it too. */
static void test_later_detectors_know_it(void **state) {
    feed got = marked("segment | pulses", "", "# mark: brew id=b1 from=30 to=31\n", 99, 0);
    feed alone = marked("pulses", "", "# mark: brew id=b1 from=30 to=31\n", 99, 0);
    const char *a = strstr(got.out.bytes, "# note: shot-pulses");
    const char *b = strstr(alone.out.bytes, "# note: shot-pulses");
    assert_non_null(a);
    assert_non_null(b);
    assert_string_equal(a, b);
    feed_free(&got);
    feed_free(&alone);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_marked_start_is_kept),
        cmocka_unit_test(test_what_nobody_marked_is_found_as_before),
        cmocka_unit_test(test_a_first_drop_needs_no_scale),
        cmocka_unit_test(test_an_interval_of_its_own_counts),
        cmocka_unit_test(test_a_disagreement_is_said),
        cmocka_unit_test(test_the_order_holds),
        cmocka_unit_test(test_marks_that_disagree_give_none_that_ends_before_it_starts),
        cmocka_unit_test(test_every_pair_of_marks_keeps_the_order),
        cmocka_unit_test(test_each_event_counts_once_while_it_runs),
        cmocka_unit_test(test_estimates_are_no_marks_by_hand),
        cmocka_unit_test(test_later_detectors_know_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
