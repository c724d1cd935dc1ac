/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is gathered at once is what one looked at after the other gives, in place too. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <signal/gather.h>

enum { MOST = 70 };

static size_t gather_plainly(const double *key, const double *value, size_t n, double low,
                             double high, double *out, size_t *below) {
    size_t kept = 0;
    *below = 0;
    for (size_t i = 0; i < n; i++) {
        if (key[i] >= low && key[i] <= high)
            out[kept++] = value[i];
        *below += key[i] < low;
    }
    return kept;
}

/* In place too, and where the memory ends behind the last number. */
static void assert_agrees(const double *key, const double *value, size_t n, double low,
                          double high) {
    double expected[MOST], *out = malloc((n + 1) * sizeof *out);
    size_t below, expected_below;
    const size_t count = gather_plainly(key, value, n, low, high, expected, &expected_below);
    double *place = out + 1; /* of n */
    assert_int_equal(gather_between(key, value, n, low, high, place, &below), count);
    assert_int_equal(below, expected_below);
    assert_true(count == 0 || memcmp(place, expected, count * sizeof *place) == 0);
    memcpy(place, value, n * sizeof *place);
    assert_int_equal(gather_between(key, place, n, low, high, place, &below), count);
    assert_true(count == 0 || memcmp(place, expected, count * sizeof *place) == 0);
    gather_plainly(key, key, n, low, high, expected, &expected_below);
    memcpy(place, key, n * sizeof *place);
    assert_int_equal(gather_between(place, place, n, low, high, place, &below), count);
    assert_true(count == 0 || memcmp(place, expected, count * sizeof *place) == 0);
    free(out);
}

/* Keys with ties and infinities, ends that are keys, and ranges that hold none or all. */
static void both_ways_agree(void **state) {
    shot_random random = shot_random_at(17, 1);
    for (int i = 0; i < 100000; i++) {
        const size_t n = shot_random_below(&random, MOST + 1);
        double *numbers = malloc((2 * n + 1) * sizeof *numbers);
        double *value = numbers + 1, *key = value + n;
        for (size_t k = 0; k < n; k++) {
            key[k] = (double)shot_random_below(&random, 12) - 4;
            key[k] = key[k] > 6 ? INFINITY : key[k];
            value[k] = (double)k;
        }
        const double low = shot_random_chance(&random, 0.2)
                               ? -INFINITY
                               : (double)shot_random_below(&random, 10) - 4;
        const double high = (double)shot_random_below(&random, 12) - 4;
        assert_agrees(key, value, n, low, high);
        free(numbers);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(both_ways_agree)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
