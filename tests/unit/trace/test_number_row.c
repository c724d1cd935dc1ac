/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a row of numbers is read and written at once exactly as its fields are one by one, and
 * anything that is not such a row is left to those who know more. */
#include <support/check.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/number_text.h>
#include <trace/number_row.h>

enum { MOST = 6, ROOM = MOST * (SHOT_NUMBER_ROOM + 1) + 1 };

/* A copy that ends where the memory ends, so that a sanitizer sees a byte read behind it. */
static char *copy_of(const char *text, size_t length) {
    char *copy = malloc(length ? length : 1);
    assert_non_null(copy);
    memcpy(copy, text, length);
    return copy;
}

/* Reads a row that stands alone, and again with as much text behind it as anybody could look at:
 * both must agree.  Returns its length, 0 for none. */
static size_t read_row(const char *text, size_t length, double *out, size_t count) {
    static const char more[] = "9999999999,9999999999\n9999999999,9999999999\n9999999999999\n";
    char *alone = copy_of(text, length);
    const char *next = shot_number_row_read(alone, alone + length, out, count);
    const size_t found = next == NULL ? 0 : (size_t)(next - alone);
    free(alone);
    if (found == 0)
        return 0;
    char *followed = malloc(length + sizeof more);
    double again[MOST];
    assert_non_null(followed);
    memcpy(followed, text, length);
    memcpy(followed + length, more, sizeof more);
    next = shot_number_row_read(followed, followed + length + sizeof more, again, count);
    assert_true(next == followed + found);
    assert_memory_equal(again, out, count * sizeof *out);
    free(followed);
    return found;
}

static double random_number(shot_random *random) {
    static const double scales[] = {1e-7, 1e-4, 1e-2, 0.1, 1, 1, 10, 100, 1e5, 1e17};
    const double scale = scales[shot_random_bits(random) % 10];
    const double value = scale * (2 * shot_random_uniform(random) - 1);
    switch (shot_random_bits(random) % 4) {
    case 0:
        return round(value * 100) / 100;
    case 1:
        return round(value);
    default:
        return value;
    }
}

static size_t write_row(char *text, const double *values, size_t count) {
    char *place = text;
    for (size_t i = 0; i < count; i++) {
        place += shot_number_write(place, values[i]);
        *place++ = i + 1 < count ? ',' : '\n';
    }
    return (size_t)(place - text);
}

/* Numbers of all sizes, in the notation in which filters write, and missing ones among them. */
static void a_written_row_comes_back(void **state) {
    shot_random random = shot_random_at(31, 1);
    for (int i = 0; i < 100000; i++) {
        const size_t count = 1 + shot_random_bits(&random) % MOST;
        double values[MOST], back[MOST];
        char text[ROOM];
        for (size_t c = 0; c < count; c++)
            values[c] = shot_random_bits(&random) % 16 == 0 ? (double)NAN : random_number(&random);
        const size_t length = write_row(text, values, count);
        assert_int_equal(read_row(text, length, back, count), length);
        for (size_t c = 0; c < count; c++)
            assert_true(isnan(values[c]) ? isnan(back[c])
                                         : memcmp(&values[c], &back[c], sizeof(double)) == 0);
    }
}

/* Where the digits are made in another way on either side: decimals of few digits, powers of two
 * and of ten, what rounds up to one of them, and their neighbours. */
static double edge_number(shot_random *random) {
    const int exponent = (int)(shot_random_bits(random) % 23);
    const double power = pow(10, exponent % 7);
    const double edge = exponent < 7    ? 1 / power
                        : exponent < 14 ? power
                        : exponent < 21 ? ldexp(1, (int)(shot_random_bits(random) % 40) - 20)
                                        : round(1e6 * shot_random_uniform(random)) / power;
    const int steps = (int)(shot_random_bits(random) % 7) - 3;
    double value = edge;
    for (int i = 0; i < abs(steps); i++)
        value = nextafter(value, steps < 0 ? -INFINITY : INFINITY);
    return shot_random_bits(random) % 2 ? value : -value;
}

enum { MOST_ROWS = 20, WIDEST = 70 }; /* some are wider than what is written at once */

static double any_number(shot_random *random) {
    static const double others[] = {NAN, INFINITY, -INFINITY, 0.0, -0.0, 5e-324, 1e300};
    const unsigned kind = (unsigned)(shot_random_bits(random) % 16);
    if (kind == 0)
        return others[shot_random_bits(random) % 7];
    return kind < 4 ? edge_number(random) : random_number(random);
}

/* Rows from the second of a block on, however many, have the same bytes as their numbers, and no
 * byte is written behind the room for them. */
static void rows_are_written_as_their_fields(void **state) {
    shot_random random = shot_random_at(33, 1);
    for (int i = 0; i < 60000; i++) {
        const bool wide = shot_random_bits(&random) % 128 == 0;
        const size_t count = 1 + shot_random_bits(&random) % (wide ? WIDEST : MOST);
        const size_t rows = 1 + shot_random_bits(&random) % MOST_ROWS;
        double block[WIDEST][MOST_ROWS + 1], values[WIDEST];
        const double *column[WIDEST];
        char text[MOST_ROWS * (WIDEST * (SHOT_NUMBER_ROOM + 1) + 1)],
            *at_once = malloc(rows * count * (SHOT_NUMBER_ROOM + 1));
        size_t length = 0;
        for (size_t c = 0; c < count; c++) {
            column[c] = block[c];
            for (size_t row = 0; row <= rows; row++)
                block[c][row] = any_number(&random);
        }
        for (size_t row = 1; row <= rows; row++) {
            for (size_t c = 0; c < count; c++)
                values[c] = block[c][row];
            length += write_row(text + length, values, count);
        }
        assert_int_equal(shot_number_rows_write(at_once, column, count, 1, rows) - at_once, length);
        assert_memory_equal(at_once, text, length);
        free(at_once);
    }
}

/* Digits without end, points, signs and exponents anywhere: what is taken for a row is one whose
 * fields are whole numbers to shot_number_read, with the same values. */
static void any_row_is_read_as_its_fields(void **state) {
    static const char bytes[] = "0123456789012345678901234567890123456789..-+eE,,\n\r 0x";
    shot_random random = shot_random_at(32, 1);
    size_t rows = 0;
    for (int i = 0; i < 400000; i++) {
        char text[64];
        const size_t length = 1 + shot_random_bits(&random) % (sizeof text - 1);
        for (size_t b = 0; b < length; b++)
            text[b] = bytes[shot_random_bits(&random) % (sizeof bytes - 1)];
        const size_t count = 1 + shot_random_bits(&random) % 3;
        double values[MOST];
        const size_t found = read_row(text, length, values, count);
        rows += found > 0;
        const char *place = text, *end = text + found;
        for (size_t c = 0; c < count && found > 0; c++) {
            double value = NAN;
            const char *after = shot_number_read(place, end, &value);
            place = after == NULL ? place : after;
            assert_true(*place == (c + 1 < count ? ',' : '\n'));
            assert_true(isnan(value) ? isnan(values[c]) : value == values[c]);
            place++;
        }
        assert_true(found == 0 || place == end);
    }
    assert_true(rows > 5000);
}

/* A field as a logger writes it, and now and then another. */
static size_t write_field(char *text, shot_random *random) {
    static const char *const others[] = {"",    "-",     ".",         "-.",       "5.",   ".5",
                                         "1-2", "1..2",  "-0",        "12345678", "-.25", "1e3",
                                         " 1",  "1.2.3", "123456789", "+4",       "--1",  "-0.0000",
                                         "4x",  "nan",   "1234567.8", "0.1234567"};
    if (shot_random_bits(random) % 40 == 0)
        return (size_t)sprintf(text, "%s", others[shot_random_bits(random) % 22]);
    const int decimals = (int)(shot_random_bits(random) % 5);
    const double scale = pow(10, (double)(shot_random_bits(random) % 4));
    return (size_t)sprintf(text, "%.*f", decimals, scale * (2 * shot_random_uniform(random) - 1));
}

/* Some rows, of which now and then a byte is another one; their length. */
static size_t write_rows(char *text, size_t count, shot_random *random) {
    const size_t fields = count * (1 + shot_random_bits(random) % 20);
    size_t length = 0;
    for (size_t f = 1; f <= fields; f++) {
        length += write_field(text + length, random);
        text[length++] = f % count == 0 ? '\n' : ',';
    }
    if (shot_random_bits(random) % 4 == 0)
        text[shot_random_bits(random) % length] = ",\n-.#\xc3"[shot_random_bits(random) % 6];
    return length;
}

/* The rows that are taken together at this place, or one that is left; *place moves on.  How many
 * there are. */
static size_t take_rows(const char **place, const char *end, size_t count) {
    double at_once[NUMBERS_AT_ONCE], one[MOST];
    size_t rows;
    const char *next = shot_number_rows_read(*place, end, at_once, count, &rows);
    if (next == NULL) {
        assert_null(shot_number_row_read(*place, end, one, count));
        const char *newline = memchr(*place, '\n', (size_t)(end - *place));
        *place = newline == NULL ? end : newline + 1;
        return 0;
    }
    for (size_t row = 0; row < rows; row++) {
        *place = shot_number_row_read(*place, end, one, count);
        assert_non_null(*place);
        assert_memory_equal(one, at_once + row * count, count * sizeof *one);
    }
    assert_true(next == *place);
    return rows;
}

/* Rows taken at once are those that are taken one by one, wherever the memory ends. */
static void rows_are_read_as_one_by_one(void **state) {
    shot_random random = shot_random_at(34, 1);
    size_t together = 0;
    for (int i = 0; i < 20000; i++) {
        const size_t count = 1 + shot_random_bits(&random) % MOST;
        char text[2000];
        const size_t length = write_rows(text, count, &random);
        char *copy = copy_of(text, length);
        for (const char *place = copy, *end = copy + length; place < end;)
            together += take_rows(&place, end, count) > 1;
        free(copy);
    }
    assert_true(together > 0 || !number_lanes_can());
}

static void what_is_no_plain_row_is_left(void **state) {
    static const char *const others[] = {
        "",       "\n",       "1,2",       "1,2\r\n", "1\n",       "1,2,3\n", "1, 2\n",
        " 1,2\n", "1,nan\n",  "1,1e999\n", "1,2e\n",  "1,\"2\"\n", "1;2\n",   "# mark: 1,2\n",
        "1,2x\n", "1,0x10\n", "1,-\n",     "1,.\n",   "1,2 \n",    "1,--2\n", "1,2.3.4\n"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        double values[MOST];
        if (read_row(others[i], strlen(others[i]), values, 2) != 0)
            fail_msg("'%s' was read", others[i]);
    }
    double values[MOST];
    assert_int_equal(read_row("1,+2.50e1\n", 10, values, 2), 10);
    assert_true(values[0] == 1 && values[1] == 25);
    assert_int_equal(read_row(",\n", 2, values, 2), 2);
    assert_true(isnan(values[0]) && isnan(values[1]));
}

/* Each start of a row, wherever it ends in memory, is none. */
static void a_row_without_its_end_is_left(void **state) {
    static const char row[] = "12.5,-0.1234567890123456,98.76543210987654,0.012345678901234567\n";
    double values[MOST];
    for (size_t length = 0; length < sizeof row - 1; length++)
        assert_int_equal(read_row(row, length, values, 4), 0);
    assert_int_equal(read_row(row, sizeof row - 1, values, 4), sizeof row - 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_written_row_comes_back),
        cmocka_unit_test(rows_are_written_as_their_fields),
        cmocka_unit_test(any_row_is_read_as_its_fields),
        cmocka_unit_test(rows_are_read_as_one_by_one),
        cmocka_unit_test(what_is_no_plain_row_is_left),
        cmocka_unit_test(a_row_without_its_end_is_left),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
