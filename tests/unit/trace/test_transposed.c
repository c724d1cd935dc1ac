/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: every number comes to its own place, in rows and columns of any count, and nothing
 * beside them is touched. */
#include <support/check.h>

#include "trace/transposed.h"

enum { MOST = 13, BEFORE = 3, LENGTH = BEFORE + MOST + 2 };

/* The number that belongs in a row of a column. */
static double number_of(size_t row, size_t column) {
    return (double)(100 * (row + 1) + column);
}

static void check_shape(size_t rows, size_t columns) {
    double store[MOST][LENGTH], values[MOST * MOST + 1];
    const double *from[MOST];
    double *to[MOST];
    for (size_t c = 0; c < columns; c++) {
        from[c] = to[c] = store[c];
        for (size_t i = 0; i < LENGTH; i++)
            store[c][i] = i < BEFORE || i >= BEFORE + rows ? -1 : number_of(i - BEFORE, c);
    }
    values[rows * columns] = -1;
    rows_of_columns(from, columns, BEFORE, rows, values);
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            assert_true(values[r * columns + c] == number_of(r, c));
            store[c][BEFORE + r] = 0;
        }
    assert_true(values[rows * columns] == -1);
    columns_of_rows(values, rows, columns, to, BEFORE);
    for (size_t c = 0; c < columns; c++)
        for (size_t i = 0; i < LENGTH; i++)
            assert_true(store[c][i] ==
                        (i < BEFORE || i >= BEFORE + rows ? -1 : number_of(i - BEFORE, c)));
}

static void numbers_come_to_their_places(void **state) {
    for (size_t rows = 0; rows <= MOST; rows++)
        for (size_t columns = 1; columns <= MOST; columns++)
            check_shape(rows, columns);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(numbers_come_to_their_places)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
