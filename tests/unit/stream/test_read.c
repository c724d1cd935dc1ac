/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what shot-read makes of a log depends on its bytes, never on the blocks in which they
 * come or the pauses between them.  Every log of tests/pipes/shot-read is read whole, byte by
 * byte, and in odd blocks: same output, same messages, same status. */
#include <support/check.h>
#include <support/feed.h>

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CASES SHOT_TEST_DATA "/../pipes/shot-read"

/* The bytes of a file; empty if it is not there. */
static shot_text file_bytes(const char *folder, const char *name) {
    char path[1024], piece[4096];
    shot_text bytes = {0};
    shot_text_add(&bytes, "");
    snprintf(path, sizeof path, "%s/%s/%s", CASES, folder, name);
    FILE *file = fopen(path, "rb");
    for (size_t n; file != NULL && (n = fread(piece, 1, sizeof piece, file)) > 0;)
        assert_int_equal(shot_text_add_bytes(&bytes, piece, n), SHOT_OK);
    if (file != NULL)
        fclose(file);
    return bytes;
}

static void compare(const char *folder, const char *chain, const shot_text *in, const feed *whole,
                    size_t block) {
    feed parts = feed_chain(chain, in->bytes, in->length, block);
    if (parts.status != whole->status || strcmp(parts.out.bytes, whole->out.bytes) != 0 ||
        strcmp(parts.notices.bytes, whole->notices.bytes) != 0 ||
        strcmp(parts.error.what, whole->error.what) != 0 || parts.error.line != whole->error.line)
        fail_msg("%s in blocks of %zu:\n%s%s%s\nnot\n%s%s%s\n", folder, block, parts.notices.bytes,
                 parts.error.what, parts.out.bytes, whole->notices.bytes, whole->error.what,
                 whole->out.bytes);
    feed_free(&parts);
}

/* False for a case whose command is more than one call without files. */
static bool check_case(const char *folder) {
    shot_text cmd = file_bytes(folder, "cmd"), in = file_bytes(folder, "in");
    bool simple = cmd.length >= 10 && strchr(cmd.bytes, '\n') == cmd.bytes + cmd.length - 1 &&
                  strpbrk(cmd.bytes, "|<>;&$") == NULL && strstr(cmd.bytes, "--rejects") == NULL;
    if (simple) {
        cmd.bytes[cmd.length - 1] = '\0';
        feed whole = feed_chain(cmd.bytes, in.bytes, in.length, 0);
        static const size_t blocks[] = {1, 2, 3, 7, 61, 4093};
        for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++)
            if (in.length / blocks[i] < 20000)
                compare(folder, cmd.bytes, &in, &whole, blocks[i]);
        feed_free(&whole);
    }
    shot_text_free(&cmd);
    shot_text_free(&in);
    return simple;
}

static void blocks_and_pauses_do_not_matter(void **state) {
    DIR *cases = opendir(CASES);
    assert_non_null(cases);
    size_t checked = 0;
    for (struct dirent *entry; (entry = readdir(cases)) != NULL;)
        if (entry->d_name[0] != '.')
            checked += check_case(entry->d_name);
    closedir(cases);
    assert_true(checked >= 40);
}

/* Row numbers as the only text: 20 MB in one line, 100,000 titles, or NUL bytes end in a message
 * or a table, in time and memory that grow with the input alone. */
static void odd_shapes_end_well(void **state) {
    enum { SIZE = 20000000 };
    char *bytes = malloc(SIZE);
    memset(bytes, '1', SIZE);
    feed result = feed_chain("read", bytes, SIZE, 65536);
    assert_int_equal(result.status, SHOT_ERR_SYNTAX);
    feed_free(&result);
    memset(bytes, '\0', SIZE);
    result = feed_chain("read", bytes, SIZE, 65536);
    assert_int_equal(result.status, SHOT_ERR_SYNTAX);
    feed_free(&result);
    const char head[] = "time,pressure\n";
    memcpy(bytes, head, sizeof head - 1);
    for (size_t at = sizeof head - 1, i = 0; i < 20; i++)
        at += (size_t)sprintf(bytes + at, "%zu,1\n", i);
    memset(bytes + 200, '"', SIZE - 200); /* a quote, and quotes */
    result = feed_chain("read", bytes, SIZE, 65536);
    assert_int_equal(result.status, SHOT_ERR_DATA);
    feed_free(&result);
    free(bytes);
}

/* Columns of one name are told apart in a time that grows with their number. */
static void many_titles_end_well(void **state) {
    enum { TITLES = 8000 };
    shot_text text = {0};
    shot_text_add(&text, "time");
    for (int i = 1; i < TITLES; i++)
        shot_text_add_format(&text, ",pressure%s", i % 2 ? "" : " [bar]");
    for (int row = 0; row < 10; row++) {
        shot_text_add_format(&text, "\n%d", row);
        for (int i = 1; i < TITLES; i++)
            shot_text_add(&text, ",1");
    }
    feed result =
        feed_chain("read --header yes --delimiter , --decimal point", text.bytes, text.length, 0);
    assert_int_equal(result.status, SHOT_OK); /* the header is longer than the first sample */
    assert_non_null(strstr(result.out.bytes, "# end: rows=10\n"));
    feed_free(&result);
    shot_text_free(&text);
}

/* Plain logs often lack their last line end. */
static void the_last_line_needs_no_end(void **state) {
    const char log[] = "time;pressure;weight\n0,00;1,25;0\n0,10;2,50;0,1\n0,20;3,75;0,2\n";
    feed result = feed_chain("read", log, sizeof log - 2, 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "0.2,3.75,0.2\n# end: rows=3\n"));
    feed_free(&result);
}

/* After a file that fails a chain that goes on reads the next one; the shot that ran is cut, the
 * stream is not closed as whole, and what was told is not told again. */
static void another_file_follows_a_bad_one(void **state) {
    feed result = {0};
    shot_chain_ends ends = {
        .output = {feed_write_, &result}, .notice = {feed_say_, &result}, .jobs = 1};
    shot_chain *chain;
    shot_text_add(&result.out, "");
    const char bad[] = "time,pressure\n0,1\n1,130\n", good[] = "time,pressure\n0,1\n1,2\n";
    assert_int_equal(shot_chain_new("read", &ends, &chain, &result.error), SHOT_OK);
    assert_int_equal(shot_chain_file(chain, "bad.csv", &result.error), SHOT_OK);
    shot_status status = shot_chain_push(chain, bad, sizeof bad - 1, &result.error);
    assert_int_equal(status, SHOT_OK);
    assert_int_equal(shot_chain_file(chain, "good.csv", &result.error), SHOT_ERR_UNIT);
    assert_string_equal(result.error.source, "bad.csv");
    assert_int_equal(result.error.line, 3);
    assert_int_equal(shot_chain_file(chain, "good.csv", &result.error), SHOT_OK);
    assert_int_equal(shot_chain_push(chain, good, sizeof good - 1, &result.error), SHOT_OK);
    assert_int_equal(shot_chain_finish(chain, &result.error), SHOT_OK); /* nothing new */
    shot_chain_free(chain);
    assert_null(strstr(result.out.bytes, "# close")); /* but not all of the stream */
    if (strstr(result.out.bytes, "0,1\n1,2\n# end: rows=2\n") == NULL)
        fail_msg("%s%s", result.out.bytes, result.notices.bytes);
    feed_free(&result);
}

/* Each file's own end tells its failure; one of which the rest cannot be had is cut.  What a filter
 * refuses is no failure of the input. */
static void a_file_ends_before_the_next_one(void **state) {
    static const char *const chains[] = {"read | clean", "clean"};
    const char good[] = "time,pressure\n0,1\n1,2\n",
               back[] = "time,pressure\n0,1\n1,1\n2,1\n0.2,1\n0.9,1\n";
    for (int i = 0; i < 2; i++) {
        feed result = {0};
        shot_chain_ends ends = {
            .output = {feed_write_, &result}, .notice = {feed_say_, &result}, .go_on = true};
        shot_chain *chain;
        shot_text_add(&result.out, "");
        assert_int_equal(shot_chain_new(chains[i], &ends, &chain, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_file(chain, "good.csv", &result.error), SHOT_OK);
        assert_int_equal(shot_chain_push(chain, good, sizeof good - 1, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_file_end(chain, false, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_file(chain, "empty.csv", &result.error), SHOT_OK);
        shot_status status = shot_chain_file_end(chain, false, &result.error);
        assert_int_equal(status, SHOT_ERR_DATA);
        assert_string_equal(result.error.source, "empty.csv");
        assert_true(shot_chain_may_go_on(chain, status));
        assert_int_equal(shot_chain_file(chain, "lost.csv", &result.error), SHOT_OK);
        assert_int_equal(shot_chain_push(chain, good, sizeof good - 1, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_file_end(chain, true, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_file(chain, "back.csv", &result.error), SHOT_OK);
        status = shot_chain_push(chain, back, sizeof back - 1, &result.error);
        if (status == SHOT_OK)
            status = shot_chain_file_end(chain, false, &result.error);
        assert_int_equal(status, SHOT_ERR_DATA);
        assert_false(shot_chain_may_go_on(chain, status));
        shot_chain_free(chain);
        const char *ended = strstr(result.out.bytes, "# end: rows=2\n");
        assert_non_null(ended); /* of the first alone */
        assert_null(strstr(ended + 1, "# end:"));
        assert_null(strstr(ended, "# close:"));
        feed_free(&result);
    }
}

/* A clock that begins anew begins another shot; live, it is told with the row behind the first. */
static void a_clock_that_begins_anew_is_told_live(void **state) {
    feed result = {0};
    shot_chain_ends ends = {.output = {feed_write_, &result}, .notice = {feed_say_, &result}};
    shot_chain *chain;
    shot_text log = {0};
    shot_text_add(&log, "time [s],pressure\n");
    for (int row = 0; row <= 30; row++)
        shot_text_add_format(&log, "%d,1\n", row);
    shot_text_add(&log, "0,2\n");
    shot_text_add(&result.out, "");
    assert_int_equal(shot_chain_new("read | clean", &ends, &chain, &result.error), SHOT_OK);
    assert_int_equal(shot_chain_push(chain, log.bytes, log.length, &result.error), SHOT_OK);
    assert_int_equal(shot_chain_pause(chain, &result.error), SHOT_OK);
    assert_null(strstr(result.out.bytes, "# end: rows"));
    assert_int_equal(shot_chain_push(chain, "1,2\n", 4, &result.error), SHOT_OK);
    assert_int_equal(shot_chain_pause(chain, &result.error), SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "30,1\n# end: rows=31\n# shot: 2\n"));
    assert_int_equal(shot_chain_finish(chain, &result.error), SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "0,2\n1,2\n# end: rows=2\n# close: shots=2\n"));
    shot_chain_free(chain);
    shot_text_free(&log);
    feed_free(&result);
}

/* A shot is over with the line that says so, not with the header behind it: while a bench is
 * watched that may be an hour away.  Rows behind it, without a header, are of another shot, whose
 * columns are known: none waits. */
static void a_shot_that_says_its_end_is_over_at_once(void **state) {
    static const char *const ends[] = {"# end: rows=20\n", "# shot: noon\n"};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        feed result = {0};
        shot_chain_ends chain_ends = {.output = {feed_write_, &result}};
        shot_chain *chain;
        shot_text log = {0};
        shot_text_add(&log, "time [s],pressure\n");
        for (int row = 0; row < 20; row++)
            shot_text_add_format(&log, "%d,1\n", row);
        shot_text_add(&log, ends[i]);
        shot_text_add(&result.out, "");
        assert_int_equal(shot_chain_new("read", &chain_ends, &chain, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_push(chain, log.bytes, log.length, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_pause(chain, &result.error), SHOT_OK);
        assert_non_null(strstr(result.out.bytes, "19,1\n# end: rows=20\n"));
        assert_int_equal(shot_chain_push(chain, "0,2\n1,2\n", 8, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_pause(chain, &result.error), SHOT_OK);
        assert_non_null(strstr(result.out.bytes, "\n0,2\n1,2\n"));
        assert_int_equal(shot_chain_finish(chain, &result.error), SHOT_OK);
        assert_non_null(strstr(result.out.bytes, i == 0 ? "# shot: 2\n" : "# shot: noon\n"));
        assert_non_null(strstr(result.out.bytes, "0,2\n1,2\n# end: rows=2\n# close: shots=2\n"));
        shot_chain_free(chain);
        shot_text_free(&log);
        feed_free(&result);
    }
}

/* A header that says all of its columns says it once: behind the same one rows do not wait to be
 * understood, so that a bench that writes it before each shot is told of the water in time. */
static void rows_behind_the_same_header_do_not_wait(void **state) {
    static const char *const heads[] = {"time [s],pressure [bar]\n", "time,pressure\n"};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) {
        feed result = {0};
        shot_chain_ends ends = {.output = {feed_write_, &result}};
        shot_chain *chain;
        shot_text log = {0};
        shot_text_add(&log, heads[i]);
        for (int row = 0; row < 20; row++)
            shot_text_add_format(&log, "%d,1\n", row);
        shot_text_add(&log, heads[i]);
        shot_text_add(&log, "0,2\n");
        shot_text_add(&result.out, "");
        assert_int_equal(shot_chain_new("read", &ends, &chain, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_push(chain, log.bytes, log.length, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_pause(chain, &result.error), SHOT_OK);
        assert_true((strstr(result.out.bytes, "\n0,2\n") != NULL) == (i == 0));
        assert_int_equal(shot_chain_finish(chain, &result.error), SHOT_OK);
        assert_non_null(strstr(result.out.bytes, "\n0,2\n# end: rows=1\n# close: shots=2\n"));
        shot_chain_free(chain);
        shot_text_free(&log);
        feed_free(&result);
    }
}

/* Anything may be called an end in a log that is no stream. */
static void another_end_is_no_end(void **state) {
    shot_text log = {0};
    shot_text_add(&log, "time [s],pressure\n");
    for (int row = 0; row < 20; row++)
        shot_text_add_format(&log, "%d,1\n%s", row, row == 9 ? "# end: of the soak\n" : "");
    feed result = feed_chain("read", log.bytes, log.length, 0);
    assert_int_equal(result.status, SHOT_OK);
    assert_non_null(strstr(result.out.bytes, "# end: rows=20\n# close: shots=1\n"));
    shot_text_free(&log);
    feed_free(&result);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_and_pauses_do_not_matter),
        cmocka_unit_test(odd_shapes_end_well),
        cmocka_unit_test(many_titles_end_well),
        cmocka_unit_test(the_last_line_needs_no_end),
        cmocka_unit_test(another_file_follows_a_bad_one),
        cmocka_unit_test(a_file_ends_before_the_next_one),
        cmocka_unit_test(a_clock_that_begins_anew_is_told_live),
        cmocka_unit_test(a_shot_that_says_its_end_is_over_at_once),
        cmocka_unit_test(another_end_is_no_end),
        cmocka_unit_test(rows_behind_the_same_header_do_not_wait),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
