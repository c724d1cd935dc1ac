/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a chain that ends nowhere is refused when it is made; one that failed says the same
 * again; one that is finished, or in the middle of a call, takes nothing more. */
#include <support/feed.h>

static void a_chain_that_ends_nowhere_is_refused(void **state) {
    static const char *const chains[] = {"clean", "segment | report", "marks"};
    for (size_t i = 0; i < sizeof chains / sizeof *chains; i++) {
        shot_error error = {0};
        shot_chain *chain;
        assert_int_equal(shot_chain_new(chains[i], &(shot_chain_ends){0}, &chain, &error),
                         SHOT_ERR_USAGE);
        assert_null(chain);
        assert_non_null(strstr(error.what, "ends nowhere"));
    }
}

static shot_status push(shot_chain *chain, const char *text, shot_error *error) {
    return shot_chain_push(chain, text, strlen(text), error);
}

static void a_failure_is_told_again(void **state) {
    feed caught = {0};
    shot_chain_ends ends = {.output = {feed_write_, &caught}};
    shot_error first = {0}, again = {0};
    shot_chain *chain;
    assert_int_equal(shot_chain_new("smooth", &ends, &chain, NULL), SHOT_OK);
    assert_int_equal(push(chain, "time,pressure\n0,1\n2,1\n1,1\n", &first), SHOT_ERR_DATA);
    assert_int_equal(push(chain, "3,1\n", &again), SHOT_ERR_DATA);
    assert_string_equal(again.what, first.what);
    assert_int_equal(shot_chain_pause(chain, NULL), SHOT_ERR_DATA);
    assert_int_equal(shot_chain_finish(chain, NULL), SHOT_ERR_DATA);
    shot_chain_free(chain);
    shot_text_free(&caught.out);
}

static void a_failure_that_nobody_heard_is_told_later(void **state) {
    feed caught = {0};
    shot_chain_ends ends = {.output = {feed_write_, &caught}};
    shot_error error = {0};
    shot_chain *chain;
    assert_int_equal(shot_chain_new("smooth", &ends, &chain, NULL), SHOT_OK);
    assert_int_equal(push(chain, "time,pressure\n0,1\n2,1\n1,1\n", NULL), SHOT_ERR_DATA);
    assert_int_equal(shot_chain_finish(chain, &error), SHOT_ERR_DATA);
    assert_int_equal(error.line, 4);
    shot_chain_free(chain);
    shot_text_free(&caught.out);
}

static void a_finished_chain_takes_nothing_more(void **state) {
    feed caught = {0};
    shot_chain_ends ends = {.output = {feed_write_, &caught}};
    shot_error error = {0};
    shot_chain *chain;
    assert_int_equal(shot_chain_new("clean", &ends, &chain, NULL), SHOT_OK);
    assert_int_equal(push(chain, "time,pressure\n0,1\n1,1\n", NULL), SHOT_OK);
    assert_int_equal(shot_chain_finish(chain, NULL), SHOT_OK);
    const size_t written = caught.out.length;
    assert_int_equal(push(chain, "time,pressure\n0,1\n", &error), SHOT_ERR_USAGE);
    assert_non_null(strstr(error.what, "finished"));
    assert_int_equal(shot_chain_finish(chain, NULL), SHOT_ERR_USAGE);
    assert_int_equal(caught.out.length, written);
    shot_chain_free(chain);
    shot_text_free(&caught.out);
}

typedef struct caller {
    shot_sink sink;
    shot_chain *chain;
    shot_status got[4];
} caller;

/* Calls the chain that calls it. */
static shot_status call_back(shot_sink *sink, const shot_head *head, shot_error *error) {
    caller *self = (caller *)sink;
    self->got[0] = push(self->chain, "# note: me\n", NULL);
    self->got[1] = shot_chain_pause(self->chain, NULL);
    self->got[2] = shot_chain_file(self->chain, "quay-2.csv", NULL);
    self->got[3] = shot_chain_finish(self->chain, NULL);
    return SHOT_OK;
}

static void a_sink_cannot_call_the_chain_that_drives_it(void **state) {
    static const shot_sink_calls calls = {.begin = call_back};
    caller self = {.sink = {&calls}};
    shot_chain_ends ends = {.sink = &self.sink};
    assert_int_equal(shot_chain_new("smooth", &ends, &self.chain, NULL), SHOT_OK);
    assert_int_equal(push(self.chain, "time,pressure\n0,1\n1,1\n", NULL), SHOT_OK);
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(self.got[i], SHOT_ERR_USAGE);
    assert_int_equal(push(self.chain, "2,1\n", NULL), SHOT_OK);
    assert_int_equal(shot_chain_finish(self.chain, NULL), SHOT_OK);
    shot_chain_free(self.chain);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_chain_that_ends_nowhere_is_refused),
        cmocka_unit_test(a_failure_is_told_again),
        cmocka_unit_test(a_failure_that_nobody_heard_is_told_later),
        cmocka_unit_test(a_finished_chain_takes_nothing_more),
        cmocka_unit_test(a_sink_cannot_call_the_chain_that_drives_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
