/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shots spread over threads come out in the order of the input, byte for byte as without
 * threads; pausing hands on what is ready; a shot whose filters fail is named and closed as cut,
 * and the others go on. */
#include <support/feed.h>

#include <stdlib.h>

#include "chain/crew.h"

/* A filter that adds 1 to the first channel, marks the end, and fails in a shot called "bad". */
typedef struct demo {
    shot_stage stage;
    shot_rows rows;
    bool bad;
} demo;

static shot_status demo_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    demo *self = (demo *)sink;
    self->bad = strcmp(head->name, "bad") == 0;
    shot_rows_free(&self->rows);
    SHOT_TRY(shot_rows_init(&self->rows, head->channel_count));
    return shot_stage_begin(sink, head, error);
}

static shot_status demo_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    demo *self = (demo *)sink;
    if (self->bad)
        return shot_fail(error, SHOT_ERR_DATA, "shot 'bad': no good");
    shot_rows_clear(&self->rows);
    SHOT_TRY(shot_rows_append(&self->rows, block));
    for (size_t i = 0; i < block->rows; i++)
        self->rows.column[1][i] += 1;
    shot_block out = shot_rows_front(&self->rows, block->rows);
    shot_notice_say(&self->stage.notice, "rows");
    return shot_sink_rows(self->stage.next, &out, error);
}

static void demo_free(shot_sink *sink) {
    shot_rows_free(&((demo *)sink)->rows);
    shot_stage_free(sink);
}

static const shot_sink_calls demo_calls = {demo_begin,       demo_rows,      shot_stage_mark,
                                           shot_stage_line,  shot_stage_end, shot_stage_pause,
                                           shot_stage_close, demo_free};

static shot_status make_demo(void *user, shot_sink *next, const shot_notice *notice,
                             shot_sink **first, shot_sink ***made, size_t *count,
                             shot_error *error) {
    shot_making making = {.next = next, .notice = *notice, .history = "shot-demo"};
    shot_stage *stage;
    *made = malloc(sizeof **made);
    SHOT_TRY(shot_stage_new(&making, &demo_calls, sizeof(demo), &stage, error));
    **made = *first = &stage->sink;
    *count = 1;
    return SHOT_OK;
}

/* `shots` shots of different lengths; the one numbered `bad` fails. */
static void write_stream(shot_text *text, int shots, int bad) {
    for (int s = 0; s < shots; s++) {
        if (s == bad)
            shot_text_add(text, "# shot: bad\ntime,pressure\n0,1\n1,2\n");
        else
            shot_text_add_format(text, "# shot: s%d\n# dose: 18 g\ntime,pressure\n", s);
        for (int i = 0; s != bad && i < 50 + 900 * (s % 7); i++)
            shot_text_add_format(text, "%d,%d\n", i, i % 9);
        if (s != bad)
            shot_text_add(text, "# mark: knee id=k1 from=3\n");
    }
}

/* A reader, a crew of demos and a writer. */
typedef struct line_up {
    shot_source *source;
    shot_sink *crew, *writer;
    const char *file;
} line_up;

static void set_up(line_up *all, size_t jobs, const shot_output *output,
                   const shot_notice *notice) {
    const shot_reader_settings settings = {.notice = *notice};
    all->file = "day.trace";
    assert_int_equal(shot_writer_new(output, &all->writer, NULL), SHOT_OK);
    const shot_crew_plan plan = {.jobs = jobs,
                                 .make = make_demo,
                                 .next = all->writer,
                                 .notice = *notice,
                                 .file = &all->file};
    assert_int_equal(shot_crew_new(&plan, &all->crew, NULL), SHOT_OK);
    assert_int_equal(shot_reader_new(&settings, all->crew, &all->source, NULL), SHOT_OK);
}

static void take_down(line_up *all) {
    all->source->calls->free(all->source);
    shot_sink_free(all->crew);
    shot_sink_free(all->writer);
}

static feed run(size_t jobs, const char *bytes, size_t block, size_t *failures) {
    feed result = {0};
    shot_output output = {feed_write_, &result};
    shot_notice notice = {feed_say_, &result};
    line_up all;
    shot_text_add(&result.out, "");
    shot_text_add(&result.notices, "");
    set_up(&all, jobs, &output, &notice);
    result.status = feed_push_(all.source, bytes, strlen(bytes), block, &result.error);
    *failures = shot_crew_failures(all.crew);
    take_down(&all);
    return result;
}

static void any_number_of_threads_writes_the_same(void **state) {
    shot_text in = {0};
    size_t failures;
    write_stream(&in, 40, -1);
    feed one = run(1, in.bytes, 0, &failures);
    assert_int_equal(one.status, SHOT_OK);
    assert_non_null(strstr(one.out.bytes, "# close: shots=40"));
    for (size_t jobs = 2; jobs < 5; jobs++)
        for (size_t block = 0; block < 9000; block += 4000) {
            feed many = run(jobs, in.bytes, block, &failures);
            assert_int_equal(many.status, SHOT_OK);
            assert_string_equal(many.out.bytes, one.out.bytes);
            feed_free(&many);
        }
    feed_free(&one);
    shot_text_free(&in);
}

static void a_shot_that_fails_is_named_and_the_others_go_on(void **state) {
    for (size_t jobs = 1; jobs < 4; jobs++) {
        shot_text in = {0};
        size_t failures;
        write_stream(&in, 6, 2);
        feed got = run(jobs, in.bytes, 0, &failures);
        assert_int_equal(failures, 1);
        assert_non_null(strstr(got.notices.bytes, "day.trace: shot 'bad': no good\n"));
        assert_non_null(strstr(got.out.bytes, "# shot: s5\n"));
        assert_null(strstr(got.out.bytes, "# close:")); /* a cut shot: the next program knows */
        feed_free(&got);
        shot_text_free(&in);
    }
}

static shot_status write_to_full_disk(void *user, const char *bytes, size_t count,
                                      shot_error *error) {
    return shot_fail(error, SHOT_ERR_WRITE, "the disk is full");
}

/* A failure of what comes behind the filters is not that of a shot, and ends all. */
static void what_cannot_be_written_ends_the_stream(void **state) {
    shot_text in = {0};
    write_stream(&in, 20, -1);
    for (size_t jobs = 1; jobs < 4; jobs++) {
        shot_output output = {write_to_full_disk, NULL};
        shot_notice notice = {0};
        shot_error error = {0};
        line_up all;
        set_up(&all, jobs, &output, &notice);
        assert_int_equal(feed_push_(all.source, in.bytes, strlen(in.bytes), 0, &error),
                         SHOT_ERR_WRITE);
        assert_string_equal(error.what, "the disk is full");
        assert_int_equal(shot_crew_failures(all.crew), 0);
        take_down(&all);
    }
    shot_text_free(&in);
}

/* Pausing in the middle of a shot brings out the rows so far, whatever the number of threads. */
static void pausing_hands_on_what_is_ready(void **state) {
    for (size_t jobs = 1; jobs < 4; jobs++) {
        feed result = {0};
        shot_output output = {feed_write_, &result};
        shot_notice notice = {0};
        const char *in = "time,pressure\n0,1\n1,2\n2,";
        line_up all;
        set_up(&all, jobs, &output, &notice);
        assert_int_equal(all.source->calls->push(all.source, in, strlen(in), NULL), SHOT_OK);
        assert_int_equal(all.source->calls->pause(all.source, NULL), SHOT_OK);
        assert_string_equal(result.out.bytes,
                            "# shot: 1\n# history: shot-demo\ntime [s],pressure [bar]\n0,2\n1,3\n");
        take_down(&all);
        feed_free(&result);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_number_of_threads_writes_the_same),
        cmocka_unit_test(a_shot_that_fails_is_named_and_the_others_go_on),
        cmocka_unit_test(what_cannot_be_written_ends_the_stream),
        cmocka_unit_test(pausing_hands_on_what_is_ready),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
