/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a line about noise that was written is read back, one of another channel or without a
 * figure is none, and what was computed is told from readings. */
#include <support/check.h>

#include <math.h>
#include <string.h>

#include <shottrace/trace/noise_line.h>

/* Keeps the lines as metadata of a head, as a stream would. */
typedef struct keeper {
    shot_sink sink;
    shot_head head;
} keeper;

static shot_status keep(shot_sink *sink, const shot_line *line, shot_error *error) {
    return shot_head_add_line(&((keeper *)sink)->head, line->key, line->value);
}
static const shot_sink_calls keeps = {.line = keep};

static shot_head head_with(const char *noise) {
    shot_head head = {0};
    assert_int_equal(shot_head_add_line(&head, "noise", noise), SHOT_OK);
    return head;
}

/* To four digits, as it says: half of the last is at most 5e-4 of the whole. */
static void what_was_written_is_read_back(void **state) {
    static const shot_noise_line noises[] = {{0, 0}, {0.03125, 0.05}, {12.34567, 3}, {2e-7, 150}};
    keeper it = {.sink.calls = &keeps};
    for (size_t i = 0; i < sizeof noises / sizeof *noises; i++) {
        shot_noise_line got = {-1, -1};
        assert_int_equal(shot_noise_line_say(&it.sink, "flow", &noises[i], NULL), SHOT_OK);
        assert_true(shot_noise_line_find(&it.head, "flow", &got));
        assert_close(got.sd, noises[i].sd, 5e-4 * noises[i].sd);
        assert_close(got.correlation, noises[i].correlation, 0);
        shot_head_free(&it.head);
    }
}

static void what_is_not_known_is_not_said(void **state) {
    keeper it = {.sink.calls = &keeps};
    assert_int_equal(shot_noise_line_say(&it.sink, "flow", &(shot_noise_line){NAN, 0}, NULL),
                     SHOT_OK);
    assert_int_equal(shot_noise_line_say(&it.sink, "flow", &(shot_noise_line){1, INFINITY}, NULL),
                     SHOT_OK);
    assert_int_equal(it.head.line_count, 0);
}

static void the_first_line_of_the_channel_counts(void **state) {
    shot_head head = head_with("flow.d1 sd=9 corr=9s");
    shot_noise_line got;
    assert_int_equal(shot_head_add_line(&head, "note", "flow sd=8"), SHOT_OK);
    assert_false(shot_noise_line_find(&head, "flow", &got));
    assert_int_equal(shot_head_add_line(&head, "noise", "flow  corr=2s  sd=10.5"), SHOT_OK);
    assert_int_equal(shot_head_add_line(&head, "noise", "flow sd=7 corr=7s"), SHOT_OK);
    assert_true(shot_noise_line_find(&head, "flow", &got));
    assert_close(got.sd, 10.5, 0);
    assert_close(got.correlation, 2, 0);
    shot_head_free(&head);
}

static void a_line_without_a_figure_is_none(void **state) {
    static const struct {
        const char *text;
        bool readable;
        double correlation;
    } lines[] = {{"flow sd=1", true, 0},
                 {"flow sd=1 corr=-2s", true, 0},
                 {"flow sd=1 corr=none", true, 0},
                 {"flow sd=1 corr=3s", true, 3},
                 {"flow sd=-1", false, 0},
                 {"flow sd=", false, 0},
                 {"flow sd", false, 0},
                 {"flow asd=1", false, 0},
                 {"flow ", false, 0},
                 {"flow corr=3s", false, 0}};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        shot_head head = head_with(lines[i].text);
        shot_noise_line got = {-5, -5};
        assert_int_equal(shot_noise_line_is_readable(lines[i].text), lines[i].readable);
        assert_int_equal(shot_noise_line_find(&head, "flow", &got), lines[i].readable);
        assert_close(got.sd, lines[i].readable ? 1 : -5, 0);
        assert_close(got.correlation, lines[i].readable ? lines[i].correlation : -5, 0);
        shot_head_free(&head);
    }
    assert_false(shot_noise_line_is_readable("sd=1"));
    assert_false(shot_noise_line_is_readable(" sd=1"));
}

/* Rows that a filter made are no readings of any channel; of one that was smoothed, its line tells.
 */
static void what_was_computed_is_told(void **state) {
    shot_head head = head_with("flow sd=1 corr=0s");
    assert_int_equal(shot_head_add_line(&head, "history", "shot-clean"), SHOT_OK);
    assert_false(shot_channel_is_computed(&head, "flow")); /* cleaned: still readings */
    assert_int_equal(shot_head_add_line(&head, "history", "shot-smooth --window 1s"), SHOT_OK);
    assert_true(shot_channel_is_computed(&head, "flow"));
    assert_false(shot_channel_is_computed(&head, "pressure"));
    assert_int_equal(shot_head_add_line(&head, "history", "shot-resample --rate 10"), SHOT_OK);
    assert_true(shot_channel_is_computed(&head, "pressure"));
    shot_head_free(&head);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_written_is_read_back),
        cmocka_unit_test(what_is_not_known_is_not_said),
        cmocka_unit_test(the_first_line_of_the_channel_counts),
        cmocka_unit_test(a_line_without_a_figure_is_none),
        cmocka_unit_test(what_was_computed_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
