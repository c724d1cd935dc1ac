/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a collector keeps every shot whole and apart from the next, says which was cut, and
 * tells its owner once when the stream closes. */
#include <support/check.h>

#include <shottrace/trace/table_list.h>

static shot_status count_call(void *user, shot_error *error) {
    ++*(int *)user;
    return SHOT_OK;
}

static void give(shot_sink *sink, const char *name, double value, bool cut) {
    shot_head head = {0};
    const double time[] = {0}, pressure[] = {value};
    const double *const columns[] = {time, pressure};
    const shot_block block = {1, 2, columns};
    assert_int_equal(shot_head_set_name(&head, name), SHOT_OK);
    assert_int_equal(shot_head_add_channel(&head, "time", "s"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(&head, "pressure", "bar"), SHOT_OK);
    assert_int_equal(shot_sink_begin(sink, &head, NULL), SHOT_OK);
    assert_int_equal(shot_sink_rows(sink, &block, NULL), SHOT_OK);
    assert_int_equal(shot_sink_end(sink, cut, NULL), SHOT_OK);
    shot_head_free(&head);
}

static void shots_are_kept_whole_and_apart(void **state) {
    shot_table_collector collector;
    int closed = 0;
    shot_table_collector_init(&collector);
    collector.done = count_call;
    collector.user = &closed;
    for (int i = 0; i < 9; i++) /* over several rounds of making room */
        give(&collector.sink, i == 4 ? "four" : "other", i, i == 8);
    assert_int_equal(closed, 0);
    assert_int_equal(shot_sink_close(&collector.sink, false, NULL), SHOT_OK);
    assert_int_equal(closed, 1);
    assert_int_equal(collector.shots.count, 9);
    assert_string_equal(collector.shots.items[4]->head.name, "four");
    for (int i = 0; i < 9; i++) {
        assert_close(shot_table_column(collector.shots.items[i], "pressure")[0], i, 0);
        assert_int_equal(collector.shots.items[i]->cut, i == 8);
    }
    shot_table_collector_free(&collector);
    assert_int_equal(collector.shots.count, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(shots_are_kept_whole_and_apart)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
