/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that say again what was known last, or nothing but zeros. */
#include "signal/frozen_rows.h"

#include <math.h>

enum { FEWEST = 3, BESIDE = 4, LEAP = 3, RARE = 20, MORE_THAN_A_PUMP = 3 };

typedef struct table {
    double *const *column;
    size_t columns, rows;
    const double *const *stays; /* as in frozen_rows_find */
    size_t stay_count;
} table;

/* Equal in every channel that has a value in both, which two have at least: a lone gauge may stand.
 */
static bool repeats(const table *rows, size_t i) {
    size_t equal = 0;
    for (size_t c = 1; c < rows->columns; c++) {
        const double before = rows->column[c][i - 1], now = rows->column[c][i];
        if (!isnan(now) && !isnan(before) && now != before)
            return false;
        equal += now == before;
    }
    return equal >= 2;
}

/* The largest change from row to row among those first + 1 to last. */
static double largest_change(const double *y, size_t first, size_t last) {
    double most = 0;
    for (size_t i = first + 1; i <= last; i++)
        most = fmax(most, fabs(y[i] - y[i - 1]));
    return most;
}

/* Rows first + 1 to last repeat the first: does a channel leap behind them? */
static bool ends_in_a_leap(const table *rows, size_t first, size_t last) {
    const size_t start = first > BESIDE ? first - BESIDE : 0;
    const size_t end = last + 1 + BESIDE < rows->rows ? last + 1 + BESIDE : rows->rows - 1;
    for (size_t c = 1; c < rows->columns; c++) {
        const double *y = rows->column[c];
        const double usual =
            fmax(largest_change(y, start, first), largest_change(y, last + 1, end));
        if (fabs(y[last + 1] - y[last]) > LEAP * usual && usual > 0)
            return true;
    }
    return false;
}

/* Is every channel that has a value, two at least, at zero? */
static bool is_blank(const table *rows, size_t i) {
    size_t blank = 0;
    for (size_t c = 1; c < rows->columns; c++) {
        const double y = rows->column[c][i];
        if (!isnan(y) && y != 0)
            return false;
        blank += y == 0;
    }
    return blank >= 2;
}

/* Rows first + 1 to last are blank: does a channel leap to zero and back to where it was? */
static bool leaps_back(const table *rows, const double *y, size_t first, size_t last) {
    const size_t start = first > BESIDE ? first - BESIDE : 0;
    const size_t end = last + 1 + BESIDE < rows->rows ? last + 1 + BESIDE : rows->rows - 1;
    const double usual =
        fmax(fmax(largest_change(y, start, first), largest_change(y, last + 1, end)),
             fabs(y[last + 1] - y[first]));
    return y[first] * y[last + 1] > 0 && fmin(fabs(y[first]), fabs(y[last + 1])) > LEAP * usual;
}

/* Is it one that no pump moves? */
static bool stays(const table *rows, const double *y) {
    size_t i = 0;
    while (i < rows->stay_count && rows->stays[i] != y)
        i++;
    return i < rows->stay_count;
}

/* Does the log begin with a rest of the channel, which is not all zeros, far below a reading? */
static bool rests_otherwise(const table *rows, const double *y, double reading) {
    return !is_blank(rows, 0) && LEAP * fabs(y[0]) < fabs(reading);
}

/* Did the logger lose its sensors in rows first + 1 to last, which are blank? */
static bool is_loss(const table *rows, size_t first, size_t last) {
    size_t back = 0, standing = 0, otherwise = 0;
    for (size_t c = 1; c < rows->columns; c++) {
        const double *y = rows->column[c];
        if (!leaps_back(rows, y, first, last))
            continue;
        back++;
        standing += stays(rows, y);
        otherwise += stays(rows, y) || rests_otherwise(rows, y, y[first]);
    }
    return (back >= MORE_THAN_A_PUMP && standing > 0) || otherwise >= 2;
}

static void set(bool *rows, size_t first, size_t last, bool value) {
    for (size_t i = first + 1; i <= last; i++)
        rows[i] = value;
}

/* Rows at rest where the log begins and ends tell whether its figures may stand, and so do a few on
 * end anywhere. */
static bool are_the_logs_own(const table *rows, size_t first, size_t last) {
    return first == 0 || last + 1 == rows->rows || last - first < FEWEST;
}

/* Rows that repeat the one before, and are not blank. */
static void find_repeats(const table *rows, bool *frozen) {
    const size_t n = rows->rows;
    size_t own = 0;
    for (size_t first = 0, last; first < n; first = last + 1) {
        for (last = first; last + 1 < n && repeats(rows, last + 1);)
            last++;
        const bool rest = are_the_logs_own(rows, first, last);
        const bool taken = !rest && !is_blank(rows, first) && ends_in_a_leap(rows, first, last);
        frozen[first] = false;
        set(frozen, first, last, taken);
        own += rest ? last - first : 0;
    }
    if (RARE * own > n)
        set(frozen, 0, n - 1, false);
}

/* Blank rows between two readings. */
static void find_losses(const table *rows, bool *frozen) {
    for (size_t i = 1, last; i + 1 < rows->rows; i = last + 1) {
        for (last = i; last + 1 < rows->rows && is_blank(rows, i) && is_blank(rows, last + 1);)
            last++;
        if (last + 1 < rows->rows && is_blank(rows, i) && is_loss(rows, i - 1, last))
            set(frozen, i - 1, last, true);
    }
}

size_t frozen_rows_find(double *const *column, size_t columns, size_t n, const double *const *stays,
                        size_t stay_count, bool *frozen) {
    const table rows = {column, columns, n, stays, stay_count};
    size_t count = 0;
    find_repeats(&rows, frozen);
    find_losses(&rows, frozen);
    for (size_t i = 0; i < n; i++)
        count += frozen[i];
    return count;
}
