/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: sums of products found side by side, for windows of any length and stretches of any
 * number of them, are to the bit those found one by one; how many windows are even is what looking
 * at one after the other says. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <signal/dot.h>
#include <signal/even_stretch.h>

enum { MOST_ROWS = 45, LONGEST = 23 };

/* No value is looked at that no window has, and none written that is no row's: the memory ends
 * there. */
static void sums_are_those_of_one_by_one(void **state) {
    shot_random random = shot_random_at(812, 11);
    for (size_t n = 1; n <= LONGEST; n++)
        for (size_t rows = 1; rows <= MOST_ROWS; rows++) {
            double *weight = malloc(n * sizeof *weight);
            double *y = malloc((rows + n - 1) * sizeof *y), *out = malloc(rows * sizeof *out);
            for (size_t k = 0; k < n; k++)
                weight[k] = k == 1 ? -0.0 : shot_random_normal(&random);
            for (size_t i = 0; i < rows + n - 1; i++)
                y[i] = i % 7 == 3 ? 0 : 1e3 * shot_random_normal(&random);
            even_stretch_filter(weight, n, y, rows, out);
            for (size_t row = 0; row < rows; row++) {
                const double one = dot(weight, y + row, n);
                assert_memory_equal(&one, &out[row], sizeof one);
            }
            free(weight);
            free(y);
            free(out);
        }
}

/* The samples of all windows up to one are even, not only its own. */
static size_t plainly_even(const double *t, size_t n, size_t rows) {
    for (size_t row = 0; row < rows; row++) {
        for (size_t i = row > 0 ? row - 1 : 0; i + 2 < row + n; i++)
            if (even_stretch_bends(t + i))
                return row;
        if (!even_stretch_straight(t + row, n))
            return row;
    }
    return rows;
}

/* Steps of a tenth, which no double is, with a hole or a late sample in some. */
static void even_windows_are_counted_as_one_by_one(void **state) {
    shot_random random = shot_random_at(812, 12);
    int part = 0;
    for (int trial = 0; trial < 2000; trial++) {
        const size_t n = 2 + (size_t)shot_random_below(&random, 12);
        const size_t rows = 1 + (size_t)shot_random_below(&random, MOST_ROWS), count = rows + n - 1;
        const double start = trial % 3 == 0 ? 1e9 : (double)shot_random_below(&random, 100);
        double *t = malloc(count * sizeof *t);
        for (size_t i = 0; i < count; i++)
            t[i] = start + (double)i / 10;
        const size_t off = (size_t)shot_random_below(&random, 2 * count);
        for (size_t i = off; i < count; i++)
            t[i] += trial % 2 == 0 ? 0.1 : i == off ? 0.01 : 0;
        const size_t found = even_stretch_rows(t, n, rows);
        assert_int_equal(found, plainly_even(t, n, rows));
        part += found > 0 && found < rows;
        free(t);
    }
    assert_true(part > 100);
}

/* The same for windows with a hole, each judged by itself. */
static size_t plainly_beside_a_hole(const double *t, size_t n, size_t rows, size_t behind,
                                    size_t missing) {
    for (size_t row = 0; row < rows; row++) {
        size_t hole, lacks;
        if (even_stretch_hole_rows(t + row, n, 1, &hole, &lacks) == 0 || hole != behind - row ||
            lacks != missing)
            return row;
    }
    return rows;
}

/* A grid from which samples are missing, one of them late in some: the one hole is found where it
 * is, in as many windows as hold it whole and nothing else that is odd. */
static void holes_are_found(void **state) {
    shot_random random = shot_random_at(812, 13);
    size_t found_ones = 0, refused = 0;
    for (int trial = 0; trial < 3000; trial++) {
        const size_t n = 4 + (size_t)shot_random_below(&random, 12), rows = 20,
                     count = rows + n - 1;
        const double start = trial % 3 == 0 ? 1e6 : (double)shot_random_below(&random, 100);
        const size_t hole = 1 + (size_t)shot_random_below(&random, n - 1);
        const size_t lacks = 1 + (size_t)shot_random_below(&random, 3);
        const size_t late = (size_t)shot_random_below(&random, 3 * count); /* or none is */
        const size_t second = hole + 2 + (size_t)shot_random_below(&random, 2 * n);
        double t[64];
        for (size_t i = 0; i < count; i++) {
            const size_t place = i + (i >= hole ? lacks : 0) + (i >= second ? 1 : 0);
            t[i] = start + (double)place / 10 + (i == late ? 0.001 : 0);
        }
        size_t behind = 0, missing = 0;
        const size_t fit = even_stretch_hole_rows(t, n, rows, &behind, &missing);
        size_t want = hole; /* windows up to the one that begins behind the hole */
        want = second < n ? 0 : second - n + 1 < want ? second - n + 1 : want;
        want = late < n ? 0 : late - n + 1 < want ? late - n + 1 : want;
        assert_int_equal(fit, lacks > EVEN_STRETCH_HOLE ? 0 : want);
        refused += fit == 0;
        if (fit == 0)
            continue;
        found_ones++;
        assert_int_equal(behind, hole);
        assert_int_equal(missing, lacks);
        assert_int_equal(plainly_beside_a_hole(t, n, rows, behind, missing), fit);
    }
    assert_true(found_ones > 500 && refused > 500);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_are_those_of_one_by_one),
        cmocka_unit_test(even_windows_are_counted_as_one_by_one),
        cmocka_unit_test(holes_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
