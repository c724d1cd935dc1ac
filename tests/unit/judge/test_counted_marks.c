/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: which marks count, found quickly, is what asking each of each other tells. */
#include <support/check.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/signal/random.h>

#include "judge/counted_marks.h"

enum { MARKS = 60 };

static char ids[MARKS][8];

/* Starts and lengths are few, so that marks often meet; some are open, some have no start. */
static void add_any(shot_mark_list *list, size_t i, shot_random *random) {
    static char *const kinds[] = {"surge", "knee", "note"}, *const channels[] = {"flow", "weight"};
    static const double lengths[] = {0, 0.1, 0.3, 1, 4, -1, NAN};
    shot_mark one = shot_mark_none();
    snprintf(ids[i], sizeof ids[i], "m%zu", i);
    one.kind = kinds[shot_random_below(random, 3)];
    one.id = ids[i];
    one.from =
        shot_random_below(random, 30) == 0 ? NAN : 0.1 * (double)shot_random_below(random, 100);
    one.to = one.from + lengths[shot_random_below(random, 7)];
    one.to = isnan(one.from) ? 5 : one.to;
    one.value = shot_random_below(random, 2) == 0 ? NAN : 1;
    one.channel = shot_random_below(random, 2) == 0 ? channels[shot_random_below(random, 2)] : NULL;
    one.refines =
        i > 0 && shot_random_below(random, 8) == 0 ? ids[shot_random_below(random, i)] : NULL;
    assert_int_equal(shot_mark_list_add(list, &one), SHOT_OK);
}

static bool tells_the_same(const shot_mark *a, const shot_mark *b) {
    const double shared = fmin(a->to, b->to) - fmax(a->from, b->from);
    const double both = fmax(a->to, b->to) - fmin(a->from, b->from);
    return strcmp(a->kind, b->kind) == 0 &&
           (shot_mark_is_again(a, b) || (shared > 0 && shared >= both / 2));
}

static bool is_told_better(const shot_mark_list *list, size_t index) {
    const shot_mark *one = &list->marks[index];
    for (size_t i = 0; i < list->count; i++) {
        const shot_mark *other = &list->marks[i];
        const bool figure = !isnan(one->value), others = !isnan(other->value);
        if (i != index && (figure == others ? i < index : others) && tells_the_same(one, other) &&
            shot_mark_list_stands(list, i))
            return true;
    }
    return false;
}

static const shot_mark *next_of(const shot_mark_list *list, const bool *counts, const char *kind,
                                const shot_mark *after) {
    const shot_mark *next = NULL;
    for (size_t i = 0; i < list->count; i++) {
        const shot_mark *one = &list->marks[i];
        if (counts[i] && strcmp(one->kind, kind) == 0 && !isnan(one->from) &&
            (after == NULL || one->from > after->from) && (next == NULL || one->from < next->from))
            next = one;
    }
    return next;
}

static void check_order(const shot_mark_list *list, const counted_marks *found, const char *kind) {
    const shot_mark *one = NULL;
    do {
        const shot_mark *next = next_of(list, found->counts, kind, one);
        one = counted_marks_next(found, kind, one);
        assert_ptr_equal(one, next);
    } while (one != NULL);
}

static void it_is_as_asking_each_of_each_other(void **state) {
    shot_random random = shot_random_at(15, 0);
    size_t counted = 0, left_out = 0;
    for (size_t round = 0; round < 300; round++) {
        shot_mark_list list = {0};
        counted_marks found;
        const size_t count = (size_t)shot_random_below(&random, MARKS + 1);
        for (size_t i = 0; i < count; i++)
            add_any(&list, i, &random);
        assert_int_equal(counted_marks_find(&found, &list), SHOT_OK);
        for (size_t i = 0; i < count; i++) {
            const bool expected = shot_mark_list_stands(&list, i) && !is_told_better(&list, i);
            assert_int_equal(found.counts[i], expected);
            counted += expected;
            left_out += !expected;
        }
        check_order(&list, &found, "knee");
        check_order(&list, &found, "surge");
        check_order(&list, &found, "pulse");
        counted_marks_free(&found);
        shot_mark_list_free(&list);
    }
    assert_true(counted > 1000 && left_out > 1000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_as_asking_each_of_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
