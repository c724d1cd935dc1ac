/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a number: what is read is what the C library reads, and what is written reads back;
 * decimals agree with both. */
#include "fuzz.h"

#include <math.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/number_text.h>

#include <trace/number_row.h>

static void check_reading(const char *text, size_t length) {
    double value;
    const char *after = shot_number_read(text, text + length, &value);
    if (after == NULL)
        return;
    char *end, *copy = shot_text_copy_bytes(text, (size_t)(after - text));
    FUZZ_CHECK(copy != NULL);
    double theirs = strtod(copy, &end);
    FUZZ_CHECK(*end == '\0');
    FUZZ_CHECK(memcmp(&value, &theirs, sizeof value) == 0);
    free(copy);
    shot_decimal decimal; /* of so few digits, and so large, that none is behind the 45th decimal */
    if (after - text <= 24 && fabs(value) > 1e-20 &&
        shot_decimal_read(text, text + length, 0, &decimal) != NULL)
        FUZZ_CHECK(shot_decimal_value(&decimal) == value);
}

static void check_writing(double value) {
    char text[SHOT_NUMBER_ROOM];
    size_t length = shot_number_write(text, value);
    FUZZ_CHECK((length == 0) == !isfinite(value));
    double back;
    if (length == 0)
        return;
    FUZZ_CHECK(shot_number_read(text, text + length, &back) == text + length);
    FUZZ_CHECK(memcmp(&back, &value, sizeof value) == 0);
}

/* A row that is read at once has the fields, and their values, of one read number by number. */
static void check_row(const char *text, size_t length, size_t count) {
    double values[8];
    const char *next = shot_number_row_read(text, text + length, values, count);
    for (size_t i = 0; i < count && next != NULL; i++) {
        double value = NAN;
        const char *after = shot_number_read(text, next, &value);
        text = after == NULL ? text : after;
        FUZZ_CHECK(text < next && *text == (i + 1 < count ? ',' : '\n'));
        FUZZ_CHECK(isnan(value) ? isnan(values[i]) : value == values[i]);
        text++;
    }
    FUZZ_CHECK(next == NULL || text == next);
}

/* Rows that are read at once are those that are read one by one. */
static void check_rows(const char *text, size_t length, size_t count) {
    double values[NUMBERS_AT_ONCE], row[8];
    size_t rows;
    const char *end = text + length;
    const char *next = shot_number_rows_read(text, end, values, count, &rows);
    for (size_t i = 0; i < rows && next != NULL; i++) {
        text = shot_number_row_read(text, end, row, count);
        FUZZ_CHECK(text != NULL && memcmp(row, values + i * count, count * sizeof *row) == 0);
    }
    FUZZ_CHECK(next == NULL || text == next);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    check_reading((const char *)data, size);
    for (size_t count = 1; count <= 8; count *= 2) {
        check_row((const char *)data, size, count);
        check_rows((const char *)data, size, count);
    }
    double value;
    if (size >= sizeof value) {
        memcpy(&value, data, sizeof value);
        check_writing(value);
    }
    return 0;
}
