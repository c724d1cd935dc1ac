/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a run of one figure is seen wherever it stands and among however many shorter ones, as
 * counting one by one sees it. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <signal/standing.h>

enum { MOST = 60 };

static bool any_plainly(const double *y, size_t n) {
    for (size_t i = 0, length = 0; i < n; i++) {
        length = i > 0 && y[i] == y[i - 1] ? length + 1 : 1;
        if (length >= STANDING_LEAST)
            return true;
    }
    return false;
}

/* From no run at all to one value throughout. */
static void runs_are_seen_as_one_by_one(void **state) {
    shot_random random = shot_random_at(812, 41);
    int there = 0, tried = 20000;
    for (int trial = 0; trial < tried; trial++) {
        const size_t n = shot_random_below(&random, MOST + 1);
        const double stay = 0.1 * (double)(trial % 11);
        double y[MOST] = {0};
        for (size_t i = 1; i < n; i++)
            y[i] = shot_random_chance(&random, stay) ? y[i - 1]
                                                     : (double)shot_random_below(&random, 3);
        assert_int_equal(standing_any(y, n), any_plainly(y, n));
        there += any_plainly(y, n);
    }
    assert_true(there > tried / 10 && there < tried - tried / 10);
}

static void one_run_is_seen_at_every_place(void **state) {
    for (size_t length = STANDING_LEAST - 1; length <= STANDING_LEAST; length++)
        for (size_t from = 0; from + length <= MOST; from++) {
            double y[MOST];
            for (size_t i = 0; i < MOST; i++)
                y[i] = i >= from && i < from + length ? -1 : (double)i;
            assert_int_equal(standing_any(y, MOST), length == STANDING_LEAST);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(runs_are_seen_as_one_by_one),
        cmocka_unit_test(one_run_is_seen_at_every_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
