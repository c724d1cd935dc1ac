/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a provisional mark stands in the stream right behind the row that decided it, whatever
 * the blocks; at the end of the shot the final mark of the same event refines it, and one that the
 * whole shot does not bear out is withdrawn, so that each event counts once. */
#include <support/feed.h>

#include <shottrace/trace/detector.h>

/* A toy: live, a surge wherever the value jumps over 5; in the end, only jumps to 9 were surges,
 * and they began 0.5 s before. */
typedef struct jump_watch {
    double last;
} jump_watch;

static shot_status add_jump(double from, double to, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"surge";
    mark.from = from;
    mark.to = to;
    return shot_findings_add(found, &mark);
}

static shot_status look(void *state, const shot_table *shot, const void *settings,
                        shot_findings *found, shot_error *error) {
    jump_watch *self = state;
    size_t row = shot->rows.rows - 1;
    double value = shot->rows.column[1][row], last = self->last;
    self->last = value;
    if (value > 5 && !(last > 5))
        return add_jump(shot->rows.column[0][row], NAN, found);
    return SHOT_OK;
}

static shot_status find(const shot_table *shot, const void *settings, shot_findings *found,
                        shot_error *error) {
    for (size_t i = 0; i < shot->rows.rows; i++)
        if (shot->rows.column[1][i] == 9)
            SHOT_TRY(add_jump(shot->rows.column[0][i] - 0.5, shot->rows.column[0][i], found));
    return SHOT_OK;
}

static const shot_watch watch = {.size = sizeof(jump_watch), .look = look, .apart = 0.6};

/* Reader, `count` toys, writer. */
static feed run(const char *text, size_t block, int count) {
    feed result = {0};
    shot_output output = {feed_write_, &result};
    shot_reader_settings settings = {.notice = {feed_say_, &result}};
    shot_sink *sinks[4] = {NULL};
    shot_source *source = NULL;
    assert_int_equal(shot_writer_new(&output, &sinks[0], NULL), SHOT_OK);
    for (int i = 0; i < count; i++) {
        shot_making making = {.next = sinks[i], .history = "shot-toy"};
        assert_int_equal(
            shot_detector_new_watching(&making, &watch, find, &sinks[i + 1], &result.error),
            SHOT_OK);
    }
    assert_int_equal(shot_reader_new(&settings, sinks[count], &source, NULL), SHOT_OK);
    result.status = feed_push_(source, text, strlen(text), block, &result.error);
    source->calls->free(source);
    for (int i = 0; i <= count; i++)
        shot_sink_free(sinks[i]);
    return result;
}

static const char log_text[] = "time,x\n0,0\n1,6\n2,0\n3,9\n4,0\n# shot: b\ntime,x\n0,7\n1,9\n";

/* Jump 1 is withdrawn, jump 2 refined; in shot b the jump to 7 comes 0.5 s before the surge to 9
 * began, which the watch took for the same rise. */
static const char expected[] =
    "# shot: 1\n# history: shot-toy\ntime [s],x\n0,0\n1,6\n"
    "# mark: surge id=surge-1 from=1\n2,0\n3,9\n"
    "# mark: surge id=surge-2 from=3\n4,0\n"
    "# mark: note id=note-surge-1-1 from=1 to=1 refines=surge-1 note=\"surge "
    "withdrawn: the whole shot does not bear it out\"\n"
    "# mark: surge id=s1 from=2.5 to=3 refines=surge-2\n"
    "# end: rows=5\n"
    "# shot: b\n# history: shot-toy\ntime [s],x\n0,7\n"
    "# mark: surge id=surge-1 from=0\n1,9\n"
    "# mark: surge id=s1 from=0.5 to=1 refines=surge-1\n"
    "# end: rows=2\n# close: shots=2\n";

static void marks_stand_behind_the_row_that_decided_them(void **state) {
    for (size_t block = 0; block < sizeof log_text; block++) {
        feed got = run(log_text, block, 1);
        assert_int_equal(got.status, SHOT_OK);
        assert_string_equal(got.out.bytes, expected);
        feed_free(&got);
    }
}

typedef struct counter {
    shot_sink sink;
    shot_mark_list marks;
} counter;

static shot_status count_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    return shot_mark_list_add(&((counter *)sink)->marks, mark);
}

/* The same detector twice in a chain takes nothing from itself: either says its own. */
static void each_event_counts_once_a_detector(void **state) {
    static const shot_sink_calls calls = {.mark = count_mark};
    for (int detectors = 1; detectors <= 2; detectors++) {
        feed got = run("time,x\n0,0\n1,6\n2,0\n3,9\n4,0\n", 0, detectors);
        counter count = {.sink = {&calls}};
        shot_reader_settings settings = {0};
        shot_source *source;
        int standing = 0;
        assert_int_equal(shot_reader_new(&settings, &count.sink, &source, NULL), SHOT_OK);
        shot_error error = {0};
        if (feed_push_(source, got.out.bytes, got.out.length, 0, &error) != SHOT_OK)
            fail_msg("line %zu: %s\n%s", error.line, error.what, got.out.bytes);
        for (size_t i = 0; i < count.marks.count; i++) {
            standing += shot_mark_list_stands(&count.marks, i);
            for (size_t k = 0; k < i; k++)
                assert_string_not_equal(count.marks.marks[i].id, count.marks.marks[k].id);
        }
        assert_int_equal(standing, detectors);
        assert_string_equal(shot_mark_list_last(&count.marks, "surge")->id,
                            detectors == 1 ? "s1" : "s2");
        shot_mark_list_free(&count.marks);
        source->calls->free(source);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_stand_behind_the_row_that_decided_them),
        cmocka_unit_test(each_event_counts_once_a_detector),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
