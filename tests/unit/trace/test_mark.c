/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a mark gets an id that no other one bears, made of whole letters; the last word on a
 * finding is what stands. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/text.h>

static void add(shot_mark_list *list, const char *kind, const char *id, const char *refines) {
    shot_mark one = shot_mark_none();
    one.kind = (char *)kind;
    one.id = (char *)id;
    one.refines = (char *)refines;
    one.from = 1;
    assert_int_equal(shot_mark_list_add(list, &one), SHOT_OK);
}

static void check_id(const shot_mark_list *list, const char *kind, const char *expected) {
    char *id;
    assert_int_equal(shot_mark_list_id_for(list, kind, &id), SHOT_OK);
    assert_string_equal(id, expected);
    free(id);
}

static void an_id_is_the_first_letters_and_a_free_number(void **state) {
    shot_mark_list list = {0};
    check_id(&list, "knee", "k1");
    check_id(&list, "first-drip", "fd1");
    check_id(&list, "First-Drip", "fd1");
    check_id(&list, "Zeal-Azure", "za1"); /* small, to both ends of the alphabet */
    add(&list, "knee", "k1", NULL);
    add(&list, "knee", "k3", NULL);
    check_id(&list, "knee", "k2");
    add(&list, "knee", "k02", NULL); /* another id than k2 */
    add(&list, "knee", "k99999999999999999999999", NULL);
    check_id(&list, "knee", "k2");
    add(&list, "knee", "k2", NULL);
    check_id(&list, "knee", "k4");
    shot_mark_list_free(&list);
}

/* The first byte of a letter of two is no text by itself. */
static void an_id_cuts_no_letter(void **state) {
    shot_mark_list list = {0};
    check_id(&list,
             "\xc3\xbc"
             "ber",
             "m1");
    check_id(&list,
             "vor-\xc3\xbc"
             "ber",
             "v1");
    check_id(&list, "a-b-c-d-e-f-g-h-i", "abcdefg1");
    shot_mark_list_free(&list);
}

static void the_last_word_stands(void **state) {
    shot_mark_list list = {0};
    add(&list, "surge", "surge-1", NULL);
    add(&list, "surge", "surge-2", NULL);
    add(&list, "surge", "s1", "surge-1");
    add(&list, "note", "n1", "surge-2");
    assert_false(shot_mark_list_stands(&list, 0)); /* refined */
    assert_false(shot_mark_list_stands(&list, 1)); /* withdrawn */
    assert_true(shot_mark_list_stands(&list, 2));
    assert_false(shot_mark_list_stands(&list, 3)); /* withdraws another and is none itself */
    assert_string_equal(shot_mark_list_last(&list, "surge")->id, "s1");
    assert_null(shot_mark_list_last(&list, "knee"));
    shot_mark_list_free(&list);
}

/* All at once, by sorting, as one by one: random marks of few ids, of which many refine others,
 * come twice, or refine what is not there. */
static void all_last_words_at_once(void **state) {
    static const char *const ids[] = {"a", "b", "c", "d", "e", "f", NULL};
    shot_random random = shot_random_at(7, 0);
    for (int round = 0; round < 2000; round++) {
        shot_mark_list list = {0};
        bool stands[12];
        size_t standing = 0;
        const size_t count = shot_random_below(&random, 13);
        for (size_t i = 0; i < count; i++)
            add(&list, shot_random_below(&random, 3) == 0 ? "note" : "surge",
                ids[shot_random_below(&random, 7)], ids[shot_random_below(&random, 7)]);
        for (size_t i = 0; i < count; i++) {
            stands[i] = shot_mark_list_stands(&list, i);
            list.marks[i].from = (double)i;
            standing += stands[i];
        }
        assert_int_equal(shot_mark_list_keep_standing(&list), SHOT_OK);
        assert_int_equal(list.count, standing);
        for (size_t k = 0, i = 0; k < list.count; k++, i++) {
            while (!stands[i])
                i++;
            assert_true(list.marks[k].from == (double)i);
        }
        shot_mark_list_free(&list);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_id_is_the_first_letters_and_a_free_number),
        cmocka_unit_test(an_id_cuts_no_letter),
        cmocka_unit_test(the_last_word_stands),
        cmocka_unit_test(all_last_words_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
