/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Squares of four by four; those at the ends overlap the ones before them. */
#include "trace/transposed.h"

#include "lanes.h"

#if defined(SHOT_HAS_LANES)
typedef struct lane_square {
    __m256d line[LANES];
} lane_square;

IN_LANES lane_square turned(const lane_square *in) {
    const __m256d *line = in->line;
    const __m256d a = _mm256_unpacklo_pd(line[0], line[1]),
                  b = _mm256_unpackhi_pd(line[0], line[1]);
    const __m256d c = _mm256_unpacklo_pd(line[2], line[3]),
                  d = _mm256_unpackhi_pd(line[2], line[3]);
    return (lane_square){{_mm256_permute2f128_pd(a, c, 0x20), _mm256_permute2f128_pd(b, d, 0x20),
                          _mm256_permute2f128_pd(a, c, 0x31), _mm256_permute2f128_pd(b, d, 0x31)}};
}

/* Where the square that begins with line `at` of n begins. */
IN_LANES size_t begin_of(size_t at, size_t n) {
    return at + LANES <= n ? at : n - LANES;
}

WITH_LANES static void turn_columns(const double *const *column, size_t columns, size_t from,
                                    size_t rows, double *out) {
    for (size_t r = 0; r < rows; r += LANES)
        for (size_t c = 0; c < columns; c += LANES) {
            const size_t row = begin_of(r, rows), first = begin_of(c, columns);
            double *place = out + row * columns + first;
            lane_square square;
            for (size_t k = 0; k < LANES; k++)
                square.line[k] = _mm256_loadu_pd(column[first + k] + from + row);
            square = turned(&square);
            for (size_t k = 0; k < LANES; k++)
                _mm256_storeu_pd(place + k * columns, square.line[k]);
        }
}

WITH_LANES static void turn_rows(const double *values, size_t rows, size_t columns,
                                 double *const *column, size_t from) {
    for (size_t r = 0; r < rows; r += LANES)
        for (size_t c = 0; c < columns; c += LANES) {
            const size_t row = begin_of(r, rows), first = begin_of(c, columns);
            const double *place = values + row * columns + first;
            lane_square square;
            for (size_t k = 0; k < LANES; k++)
                square.line[k] = _mm256_loadu_pd(place + k * columns);
            square = turned(&square);
            for (size_t k = 0; k < LANES; k++)
                _mm256_storeu_pd(column[first + k] + from + row, square.line[k]);
        }
}

static bool are_square(size_t rows, size_t columns) {
    return rows >= LANES && columns >= LANES && lanes_are_there();
}
#endif

void rows_of_columns(const double *const *column, size_t columns, size_t from, size_t rows,
                     double *out) {
#if defined(SHOT_HAS_LANES)
    if (are_square(rows, columns)) {
        turn_columns(column, columns, from, rows, out);
        return;
    }
#endif
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++)
            out[r * columns + c] = column[c][from + r];
}

void columns_of_rows(const double *values, size_t rows, size_t columns, double *const *column,
                     size_t from) {
#if defined(SHOT_HAS_LANES)
    if (are_square(rows, columns)) {
        turn_rows(values, rows, columns, column, from);
        return;
    }
#endif
    for (size_t c = 0; c < columns; c++)
        for (size_t r = 0; r < rows; r++)
            column[c][from + r] = values[r * columns + c];
}
