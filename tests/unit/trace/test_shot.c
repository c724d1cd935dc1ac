/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <shottrace/trace/shot.h>

static void fill(shot_head *head) {
    assert_int_equal(shot_head_set_name(head, "quay-1"), SHOT_OK);
    assert_int_equal(shot_head_add_line(head, "dose", "18 g"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(head, "time", "s"), SHOT_OK);
    assert_int_equal(shot_head_add_channel(head, "pressure", "bar"), SHOT_OK);
}

/* A long line of metadata is not copied with each head that a filter makes of another. */
static void a_borrowed_head_shares_all_and_grows_channels(void **state) {
    shot_head head = {0}, longer;
    fill(&head);
    assert_int_equal(shot_head_borrow(&head, &longer), SHOT_OK);
    assert_ptr_equal(longer.lines, head.lines);
    assert_ptr_equal(longer.name, head.name);
    assert_int_equal(shot_head_add_channel(&longer, "pressure.d1", "bar/s"), SHOT_OK);
    assert_int_equal(longer.channel_count, 3);
    assert_string_equal(longer.channels[1].name, "pressure");
    assert_ptr_equal(longer.channels[1].name, head.channels[1].name);
    shot_head_give_back(&head, &longer);
    assert_int_equal(longer.line_count, 0);
    assert_int_equal(head.channel_count, 2);
    assert_string_equal(head.channels[1].name, "pressure");
    assert_string_equal(shot_head_value(&head, "dose"), "18 g");
    shot_head_free(&head);
}

/* Over a head with the same channels, others, or none, a copy is the same as a new one. */
static void a_copy_over_another_is_a_copy(void **state) {
    shot_head head = {0}, other = {0}, copy = {0};
    fill(&head);
    fill(&other);
    assert_int_equal(shot_head_add_channel(&other, "flow", "ml/s"), SHOT_OK);
    assert_int_equal(shot_head_set_value(&other, "dose", "20 g"), SHOT_OK);
    const shot_head *const turns[] = {&head, &head, &other, &other, &head};
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(shot_head_copy_again(turns[i], &copy), SHOT_OK);
        assert_string_equal(copy.name, turns[i]->name);
        assert_int_equal(copy.line_count, turns[i]->line_count);
        assert_string_equal(shot_head_value(&copy, "dose"), shot_head_value(turns[i], "dose"));
        assert_int_equal(copy.channel_count, turns[i]->channel_count);
        for (size_t c = 0; c < copy.channel_count; c++) {
            assert_string_equal(copy.channels[c].name, turns[i]->channels[c].name);
            assert_string_equal(copy.channels[c].unit, turns[i]->channels[c].unit);
            assert_ptr_not_equal(copy.channels[c].name, turns[i]->channels[c].name);
        }
    }
    shot_head_free(&copy);
    shot_head_free(&other);
    shot_head_free(&head);
}

/* Lines that stand at the start of both are kept, where they are; the first that differs, also by
 * having no key, and all behind it are those of the new head. */
static void a_copy_over_another_keeps_the_lines_they_share(void **state) {
    shot_head head = {0}, copy = {0};
    fill(&head);
    assert_int_equal(shot_head_add_line(&head, "grind", "7"), SHOT_OK);
    assert_int_equal(shot_head_copy_again(&head, &copy), SHOT_OK);
    const char *const dose = copy.lines[0].value;
    assert_int_equal(shot_head_add_line(&copy, "noise", "told later"), SHOT_OK);
    assert_int_equal(shot_head_set_value(&head, "grind", "8"), SHOT_OK);
    assert_int_equal(shot_head_copy_again(&head, &copy), SHOT_OK);
    assert_int_equal(copy.line_count, 2);
    assert_ptr_equal(copy.lines[0].value, dose);
    assert_string_equal(shot_head_value(&copy, "grind"), "8");
    assert_int_equal(shot_head_add_line(&head, NULL, "a remark"), SHOT_OK);
    assert_int_equal(shot_head_add_line(&copy, "note", "a remark"), SHOT_OK);
    assert_int_equal(shot_head_copy_again(&head, &copy), SHOT_OK);
    assert_int_equal(copy.line_count, 3);
    assert_null(copy.lines[2].key);
    assert_string_equal(copy.lines[2].value, "a remark");
    shot_head_free(&copy);
    shot_head_free(&head);
}

/* A stream has each in one line; a filter in the same process sees no other name than one in a
 * pipe. */
static void a_line_break_becomes_a_blank(void **state) {
    shot_head head = {0};
    assert_int_equal(shot_head_set_name(&head, "quay\n1\r"), SHOT_OK);
    assert_string_equal(head.name, "quay 1 ");
    assert_int_equal(shot_head_add_line(&head, "note", "\nbitter\r\nthin"), SHOT_OK);
    assert_string_equal(shot_head_value(&head, "note"), " bitter  thin");
    assert_int_equal(shot_head_set_value(&head, "note", "better\n"), SHOT_OK);
    assert_string_equal(shot_head_value(&head, "note"), "better ");
    shot_head_free(&head);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_copy_over_another_is_a_copy),
        cmocka_unit_test(a_copy_over_another_keeps_the_lines_they_share),
        cmocka_unit_test(a_borrowed_head_shares_all_and_grows_channels),
        cmocka_unit_test(a_line_break_becomes_a_blank),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
