/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the second generator is what it says: the textbook shot has its exact answers, and the
 * truth of every family agrees with its own curves. */
#include <support/check.h>

#include <string.h>

#include <support/analytic_shot.h>

/* Exact: weight at 27 s = 2 (20 - 1.5 (1 - exp(-20/1.5))) = 37.000004859 g; the midpoint rule in
 * steps of 1 ms leaves 1e-6, half a row of sampling nothing (the row at 27 s is there). */
static void the_textbook_shot_has_its_exact_answers(void **state) {
    analytic_shot *shot;
    assert_int_equal(analytic_shot_textbook(10, 0, 1, &shot), SHOT_OK);
    assert_int_equal(shot->rows, 301);
    assert_close(shot->time[270], 27, 1e-9);
    assert_close(shot->weight[270], 37.000004859, 0.0021); /* one step of 1 ms at 2 g/s */
    assert_close(shot->pressure[65], 8.7, 1e-9);
    assert_close(shot->pressure[69], 8.94, 1e-9);
    assert_close(shot->pressure[275], 4.5, 1e-9);
    static const double knee[] = {0, 6.5, 7, 27, 28};
    static const double change[] = {8.7 / 6.5, 0.6 - 8.7 / 6.5, -0.6, -9, 9};
    size_t found = 0;
    for (size_t i = 0; i < shot->truth.count; i++)
        if (strcmp(shot->truth.items[i].kind, "knee") == 0) {
            assert_close(shot->truth.items[i].from, knee[found], 1e-9);
            assert_close(shot->truth.items[i].value, change[found], 1e-3);
            found++;
        }
    assert_int_equal(found, 5);
    analytic_shot_free(shot);
}

static const shot_truth *find(const analytic_shot *shot, const char *kind) {
    for (size_t i = 0; i < shot->truth.count; i++)
        if (strcmp(shot->truth.items[i].kind, kind) == 0)
            return &shot->truth.items[i];
    return NULL;
}

static double near(const analytic_shot *shot, const double *column, double t) {
    size_t best = 0;
    for (size_t i = 0; i < shot->rows; i++)
        if (fabs(shot->time[i] - t) < fabs(shot->time[best] - t))
            best = i;
    return column[best];
}

static void every_family_agrees_with_its_own_truth(void **state) {
    for (int family = 0; family < ANALYTIC_COUNT; family++)
        for (uint64_t index = 0; index < 40; index++) {
            analytic_shot *shot;
            assert_int_equal(
                analytic_shot_new((analytic_family)family, SHOT_GRADE_CLEAN, 3, index, &shot),
                SHOT_OK);
            const shot_truth *pre = find(shot, "preinfusion"), *brew = find(shot, "brew"),
                             *drip = find(shot, "first-drip"), *surge = find(shot, "surge");
            assert_non_null(pre);
            assert_non_null(brew);
            assert_true(pre->to == brew->from && brew->to > brew->from + 5);
            assert_true((find(shot, "soak") != NULL) ==
                        (family != ANALYTIC_DIRECT && family != ANALYTIC_DECLINE));
            /* noise SD under 0.015 bar at this grade: 6 of them and a step */
            assert_true(near(shot, shot->pressure, pre->from - 0.1) < 0.1);
            assert_true(near(shot, shot->pressure, brew->from + 0.1) > 4);
            assert_true(near(shot, shot->flow, pre->from + 0.2) > 3.5);
            assert_true(near(shot, shot->weight, drip->from) < 0.4);
            assert_true(near(shot, shot->weight, brew->to) > 5);
            if (surge != NULL)
                assert_true(surge->from > drip->from + 2 && surge->to < brew->to);
            analytic_shot_free(shot);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_textbook_shot_has_its_exact_answers),
        cmocka_unit_test(every_family_agrees_with_its_own_truth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
