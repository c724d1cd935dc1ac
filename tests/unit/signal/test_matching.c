/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: found and true instants are paired so that no pairing is better. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/matching.h>
#include <shottrace/signal/random.h>

enum { MOST = 6 };

/* The best pairing by trying all: more pairs first, then the least sum of distances. */
static void try_all(const double *a, size_t n, const double *b, size_t m, double within, size_t i,
                    unsigned used, size_t pairs, double sum, size_t *most, double *least) {
    if (i == n) {
        if (pairs > *most || (pairs == *most && sum < *least)) {
            *most = pairs;
            *least = sum;
        }
        return;
    }
    try_all(a, n, b, m, within, i + 1, used, pairs, sum, most, least);
    for (size_t j = 0; j < m; j++)
        if (!(used & 1u << j) && fabs(a[i] - b[j]) <= within)
            try_all(a, n, b, m, within, i + 1, used | 1u << j, pairs + 1, sum + fabs(a[i] - b[j]),
                    most, least);
}

static void sort(double *x, size_t n) {
    for (size_t i = 1; i < n; i++)
        for (size_t j = i; j > 0 && x[j] < x[j - 1]; j--) {
            const double swap = x[j];
            x[j] = x[j - 1];
            x[j - 1] = swap;
        }
}

static size_t draw(shot_random *random, double *x) {
    const size_t n = (size_t)(shot_random_uniform(random) * (MOST + 1));
    for (size_t i = 0; i < n; i++)
        x[i] = floor(shot_random_uniform(random) * 60) / 10; /* equal ones too */
    sort(x, n);
    return n;
}

static void no_pairing_is_better(void **state) {
    shot_random random = shot_random_at(12, 0);

    for (int round = 0; round < 2000; round++) {
        double a[MOST], b[MOST], sum = 0, least = INFINITY;
        size_t partner[MOST], pairs = 0, most = 0;
        const size_t n = draw(&random, a), m = draw(&random, b);
        const double within = 0.1 * (round % 20);
        assert_int_equal(shot_matching_find(a, n, b, m, within, partner), SHOT_OK);
        unsigned used = 0;
        for (size_t i = 0; i < n; i++) {
            if (partner[i] == SHOT_UNMATCHED)
                continue;
            assert_true(partner[i] < m && !(used & 1u << partner[i]));
            assert_true(fabs(a[i] - b[partner[i]]) <= within);
            used |= 1u << partner[i];
            pairs++;
            sum += fabs(a[i] - b[partner[i]]);
        }
        try_all(a, n, b, m, within, 0, 0, 0, 0, &most, &least);
        assert_int_equal(pairs, most);
        if (pairs > 0)
            assert_close(sum, least, 1e-12); /* sums of at most 6 numbers below 6 */
    }
}

/* A greedy pairing would take 1.0 with 1.1 and leave 0.7 alone. */
static void a_nearer_pair_gives_way_to_two(void **state) {
    const double a[] = {1.0, 1.5}, b[] = {0.7, 1.1};
    size_t partner[2];
    assert_int_equal(shot_matching_find(a, 2, b, 2, 0.5, partner), SHOT_OK);
    assert_int_equal(partner[0], 0);
    assert_int_equal(partner[1], 1);
}

static void arguments_outside_their_interval(void **state) {
    const double falls[] = {2, 1}, missing[] = {NAN, 1}, one[] = {1};
    size_t partner[2] = {7, 7};
    assert_int_equal(shot_matching_find(falls, 2, one, 1, 1, partner), SHOT_ERR_RANGE);
    assert_int_equal(shot_matching_find(one, 1, missing, 2, 1, partner), SHOT_ERR_RANGE);
    assert_int_equal(shot_matching_find(one, 1, one, 1, -1, partner), SHOT_ERR_RANGE);
    assert_int_equal(partner[0], 7);
    assert_int_equal(shot_matching_find(one, 1, NULL, 0, 1, partner), SHOT_OK);
    assert_true(partner[0] == SHOT_UNMATCHED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_pairing_is_better),
        cmocka_unit_test(a_nearer_pair_gives_way_to_two),
        cmocka_unit_test(arguments_outside_their_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
