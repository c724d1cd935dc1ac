/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shot made by hand, for tests of what measures say of it. */
#ifndef SHOT_TEST_HAND_SHOT_H
#define SHOT_TEST_HAND_SHOT_H

#include <support/check.h>

#include <string.h>

#include <shottrace/judge/measure.h>
#include <shottrace/trace/channel.h>

/* Begin one with the dose "18 g" where `dosed`, and `count` known channels behind the time, in
 * their usual units. */
static inline void hand_shot_begin(shot_table *shot, bool dosed, const char *const *channels,
                                   size_t count) {
    shot_head head = {0};
    shot_head_set_name(&head, "hand-made");
    if (dosed)
        shot_head_add_line(&head, "dose", "18 g");
    shot_head_add_channel(&head, "time", "s");
    for (size_t i = 0; i < count; i++)
        shot_head_add_channel(&head, channels[i], shot_channel_kind_of(channels[i])->unit);
    assert_int_equal(shot_table_begin(shot, &head), SHOT_OK);
    shot_head_free(&head);
}

static inline void hand_shot_mark(shot_table *shot, const char *kind, double from, double to,
                                  double value) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)kind;
    mark.from = from;
    mark.to = to;
    mark.value = value;
    assert_int_equal(shot_table_mark(shot, &mark), SHOT_OK);
}

/* A measure; NaN where the shot has none of it. */
static inline double hand_shot_value(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one != NULL ? one->value : NAN;
}

#endif
