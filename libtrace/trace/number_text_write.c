/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to text: the short paths, and the layout of what is written. */
#include <shottrace/trace/number_text.h>

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "inline.h"
#include "number_text_exact.h"
#include "shortest_decimal.h"
#include "trace/number_lanes.h"
#include "trace/number_row.h"
#include "trace/transposed.h"

enum {
    MOST_DECIMALS = 9,
    FIXED_FROM = -5, /* decimal exponents of the leading digit that are written in fixed form */
    FIXED_TO = 15
};
static const double smallest_fixed = 1e-5;

/* ---- whole numbers ---- */

static char *write_integer(char *out, uint64_t value) {
    char text[20];
    size_t at = sizeof text;
    do {
        text[--at] = (char)('0' + value % 10);
        value /= 10;
    } while (value != 0);
    memcpy(out, text + at, sizeof text - at);
    return out + (sizeof text - at);
}

/* 00 to 99. */
static const char pairs[] =
    "000102030405060708091011121314151617181920212223242526272829303132333435363738394041424344"
    "454647484950515253545556575859606162636465666768697071727374757677787980818283848586878889"
    "90919293949596979899";

/* Sixteen digits at once, each group of them cut in two side by side: eight of eight, four of four,
 * eight of two, sixteen of one.  The factors over powers of two are 1/10000, 1/100 and 1/10 closely
 * enough for what is cut. */
#ifdef __SSE2__
static inline void write_sixteen(char *out, uint64_t value) {
    const __m128i eights =
        _mm_set_epi64x((int64_t)(value % 100000000), (int64_t)(value / 100000000));
    const __m128i thousands =
        _mm_srli_epi64(_mm_mul_epu32(eights, _mm_set1_epi32((int)0xd1b71759)), 45);
    const __m128i below = _mm_sub_epi64(eights, _mm_mul_epu32(thousands, _mm_set1_epi32(10000)));
    const __m128i fours = _mm_or_si128(thousands, _mm_slli_epi64(below, 32));
    const __m128i hundreds = _mm_srli_epi16(_mm_mulhi_epu16(fours, _mm_set1_epi16(5243)), 3);
    const __m128i units = _mm_sub_epi16(fours, _mm_mullo_epi16(hundreds, _mm_set1_epi16(100)));
    const __m128i twos = _mm_or_si128(hundreds, _mm_slli_epi32(units, 16));
    const __m128i tens = _mm_mulhi_epu16(twos, _mm_set1_epi16(6554));
    const __m128i ones = _mm_sub_epi16(twos, _mm_mullo_epi16(tens, _mm_set1_epi16(10)));
    const __m128i digits = _mm_or_si128(tens, _mm_slli_epi16(ones, 8));
    _mm_storeu_si128((__m128i *)(void *)out, _mm_add_epi8(digits, _mm_set1_epi8('0')));
}
#else
static inline void write_four(char *out, uint32_t value) {
    memcpy(out, pairs + 2 * (value / 100), 2);
    memcpy(out + 2, pairs + 2 * (value % 100), 2);
}

static inline void write_sixteen(char *out, uint64_t value) {
    const uint32_t high = (uint32_t)(value / 100000000), low = (uint32_t)(value % 100000000);
    write_four(out, high / 10000);
    write_four(out + 4, high % 10000);
    write_four(out + 8, low / 10000);
    write_four(out + 12, low % 10000);
}
#endif

enum { AT_ONCE = 16 };

/* Exactly `count` digits of a value with no more, and with 19 at most.  The last 16 places are
 * written at once, whatever is wanted of them: what follows overwrites the rest. */
static inline char *write_digits(char *out, uint64_t value, int count) {
    static const uint64_t ten_to_16 = 10000000000000000u;
    if (count > AT_ONCE) {
        for (; count > 19; count--)
            *out++ = '0';
        const uint64_t front = value / ten_to_16;
        value -= front * ten_to_16;
        if (count == 19)
            *out++ = (char)('0' + front / 100);
        if (count >= 18)
            *out++ = (char)('0' + front / 10 % 10);
        *out++ = (char)('0' + front % 10);
        count = AT_ONCE;
    }
    write_sixteen(out, value * shot_power_of_ten[AT_ONCE - count]);
    return out + count;
}

/* ---- decimals ---- */

/* Most logged values are integers over a small power of ten.  Take the largest power that keeps
 * the integer under 10^15: at most 15 digits name a double uniquely (DBL_DIG), so if one rounded
 * division gives the value back, these digits less their trailing zeros are the shortest text. */
static inline bool as_decimal_with(double magnitude, int k, shortest_decimal *out) {
    const double power = shot_exact_power_of_ten[k], scaled = magnitude * power + 0.5;
    uint64_t d = (uint64_t)(int64_t)scaled;
    /* Farther off than all rounding: no need to divide. */
    if (fabs(scaled - (double)(int64_t)d - 0.5) > 1e-15 * scaled)
        return false;
    if ((double)(int64_t)d / power != magnitude)
        return false;
    if (k >= 6 && d % 1000000 == 0) {
        d /= 1000000;
        k -= 6;
    }
    for (; k > 0 && d % 10 == 0; k--)
        d /= 10;
    *out = (shortest_decimal){d, k};
    return true;
}

static inline bool as_decimal(double magnitude, shortest_decimal *out) {
    int k = MOST_DECIMALS;
    while (k > 0 && magnitude * shot_exact_power_of_ten[k] >= 1e15)
        k--;
    if (magnitude * shot_exact_power_of_ten[k] + 0.5 >= 1e15 ||
        (magnitude != 0 && magnitude < smallest_fixed))
        return false;
    return as_decimal_with(magnitude, k, out);
}

/* digits / 10^decimals, whose whole part is given. */
static inline char *write_decimal(char *out, uint64_t whole, const shortest_decimal *decimal) {
    if (decimal->decimals == 0)
        return write_integer(out, decimal->digits);
    if (whole < 10) {
        *out++ = (char)('0' + whole);
    } else if (whole < 100) {
        memcpy(out, pairs + 2 * whole, 2);
        out += 2;
    } else {
        out = write_integer(out, whole);
    }
    *out++ = '.';
    const uint64_t rest = whole == 0
                              ? decimal->digits
                              : decimal->digits - whole * shot_power_of_ten[decimal->decimals];
    return write_digits(out, rest, decimal->decimals);
}

/* ---- everything else ---- */

static char *write_zeros(char *out, int count) {
    for (; count > 0; count--)
        *out++ = '0';
    return out;
}

/* Significant digits without trailing zeros: 0.digits[0] digits[1] ... times 10^(exponent + 1). */
struct figures {
    char digits[SHOT_NUMBER_ROOM];
    int count;
    int exponent; /* of the leading digit */
};

/* The figures of a finite magnitude: shortest if `digits` is 0, else rounded to that many. */
static struct figures figures_of(double magnitude, int digits) {
    char text[SHOT_NUMBER_ROOM];
    size_t length = shot_number_write_exact(text, magnitude, digits);
    struct figures f = {.count = 0, .exponent = 0};
    const char *p = text;
    for (; *p != 'e'; p++)
        if (*p != '.')
            f.digits[f.count++] = *p;
    while (f.count > 1 && f.digits[f.count - 1] == '0')
        f.count--;
    bool negative = p[1] == '-';
    for (p += 2; p < text + length; p++)
        f.exponent = f.exponent * 10 + (*p - '0');
    if (negative)
        f.exponent = -f.exponent;
    return f;
}

static char *write_bytes(char *out, const char *bytes, int count) {
    memcpy(out, bytes, (size_t)count);
    return out + count;
}

static char *write_with_exponent(char *out, const struct figures *f) {
    *out++ = f->digits[0];
    if (f->count > 1) {
        *out++ = '.';
        out = write_bytes(out, f->digits + 1, f->count - 1);
    }
    unsigned exponent = (unsigned)(f->exponent < 0 ? -f->exponent : f->exponent);
    *out++ = 'e';
    *out++ = f->exponent < 0 ? '-' : '+';
    if (exponent < 10)
        *out++ = '0';
    return write_integer(out, exponent);
}

static char *write_fixed(char *out, const struct figures *f) {
    int whole = f->exponent + 1; /* digits before the point; negative: zeros right behind it */
    if (whole >= f->count) {
        out = write_bytes(out, f->digits, f->count);
        return write_zeros(out, whole - f->count);
    }
    if (whole > 0)
        out = write_bytes(out, f->digits, whole);
    else
        *out++ = '0';
    *out++ = '.';
    out = write_zeros(out, -whole);
    int before = whole > 0 ? whole : 0;
    return write_bytes(out, f->digits + before, f->count - before);
}

static char *write_figures(char *out, double magnitude, int digits) {
    struct figures f = figures_of(magnitude, 0);
    if (f.count > digits)
        f = figures_of(magnitude, digits);
    bool fixed = f.exponent >= FIXED_FROM && f.exponent < FIXED_TO;
    return fixed ? write_fixed(out, &f) : write_with_exponent(out, &f);
}

static bool in_fixed_form(double magnitude) {
    return magnitude >= smallest_fixed && magnitude < 1e15;
}

/* The shortest text of a magnitude, where it has a short way. */
static inline bool find_shortest(double magnitude, shortest_decimal *out) {
    return as_decimal(magnitude, out) ||
           (in_fixed_form(magnitude) && shortest_decimal_find(magnitude, out));
}

/* Round the shortest text to fewer digits.  No number with one digit more than wanted lies between
 * it and the value, or that would be the shortest: so both round alike, unless it is such a number
 * itself.  False for that, for whole numbers and for what rounds up to one digit more. */
static bool round_decimal(shortest_decimal *decimal, int digits) {
    int drop = 0;
    while (decimal->digits / shot_power_of_ten[digits] >= shot_power_of_ten[drop])
        drop++;
    if (drop == 0)
        return true;
    const uint64_t unit = shot_power_of_ten[drop];
    uint64_t kept = decimal->digits / unit;
    const uint64_t rest = decimal->digits % unit;
    kept += rest > unit / 2;
    if (drop > decimal->decimals || rest == unit / 2 || kept == shot_power_of_ten[digits])
        return false;
    decimal->decimals -= drop;
    for (; decimal->decimals > 0 && kept % 10 == 0; decimal->decimals--)
        kept /= 10;
    decimal->digits = kept;
    return true;
}

static size_t write_rounded(char *out, double magnitude, int digits) {
    shortest_decimal decimal;
    if (!find_shortest(magnitude, &decimal) || !round_decimal(&decimal, digits))
        return (size_t)(write_figures(out, magnitude, digits) - out);
    const uint64_t whole =
        magnitude < 0.5 ? 0 : decimal.digits / shot_power_of_ten[decimal.decimals];
    return (size_t)(write_decimal(out, whole, &decimal) - out);
}

/* The whole part is under 10^15, as fixed form is, and that of the shortest text is the same. */
static inline size_t write_shortest(char *out, double magnitude) {
    shortest_decimal decimal;
    if (!find_shortest(magnitude, &decimal))
        return (size_t)(write_figures(out, magnitude, DBL_DECIMAL_DIG) - out);
    return (size_t)(write_decimal(out, (uint64_t)(int64_t)magnitude, &decimal) - out);
}

static inline size_t write_sign(char *out, double value) {
    *out = '-';
    return signbit(value) != 0;
}

size_t shot_number_write(char *out, double value) {
    if (!isfinite(value))
        return 0;
    const size_t sign = write_sign(out, value);
    return sign + write_shortest(out + sign, fabs(value));
}

/* ---- rows ---- */

/* What write_shortest does with numbers of the usual size, all of which have a short way; NULL
 * leaves one to that. */
SHOT_INLINE char *write_usual(char *out, double value) {
    static const double most = 1e5; /* times 10^9 under 10^15 */
    const double magnitude = fabs(value);
    shortest_decimal decimal;
    if (!(magnitude >= smallest_fixed && magnitude < most) ||
        (!as_decimal_with(magnitude, MOST_DECIMALS, &decimal) &&
         !shortest_decimal_find(magnitude, &decimal)))
        return NULL;
    out += write_sign(out, value);
    return write_decimal(out, (uint64_t)(int64_t)magnitude, &decimal);
}

static char *write_row(char *out, const double *const *column, size_t count, size_t row) {
    for (size_t c = 0; c < count; c++) {
        char *end = write_usual(out, column[c][row]);
        out = end != NULL ? end : out + shot_number_write(out, column[c][row]);
        *out++ = c + 1 < count ? ',' : '\n';
    }
    return out;
}

/* What is written at once: some columns of some rows. */
typedef struct number_group {
    size_t row, rows, first, columns;
} number_group;

/* What stands behind the numbers of a group, row after row; `last`: of whole rows, or of the end
 * of one. */
static void find_separators(const number_group *group, bool last, char *behind) {
    memset(behind, ',', group->rows * group->columns);
    for (size_t r = 0; r < group->rows && last; r++)
        behind[r * group->columns + group->columns - 1] = '\n';
}

static char *write_group(char *out, const double *const *column, const number_group *group,
                         const char *behind) {
    const size_t n = group->rows * group->columns;
    double value[NUMBERS_AT_ONCE];
    rows_of_columns(column + group->first, group->columns, group->row, group->rows, value);
    for (size_t l = n; l < NUMBERS_AT_ONCE; l++) /* those that only fill up */
        value[l] = 0;
    return number_lanes_write(out, value, n, behind);
}

/* A row of more columns than go at once. */
static char *write_wide_row(char *out, const double *const *column, size_t count, size_t row) {
    char behind[NUMBERS_AT_ONCE];
    for (size_t first = 0, some; first < count; first += some) {
        some = count - first < NUMBERS_AT_ONCE ? count - first : NUMBERS_AT_ONCE;
        const number_group group = {row, 1, first, some};
        find_separators(&group, first + some == count, behind);
        out = write_group(out, column, &group, behind);
    }
    return out;
}

static char *write_in_lanes(char *out, const double *const *column, size_t count, size_t row,
                            size_t rows) {
    const size_t end = row + rows, at_once = NUMBERS_AT_ONCE / count;
    char behind[NUMBERS_AT_ONCE];
    if (at_once == 0) {
        for (; row < end; row++)
            out = write_wide_row(out, column, count, row);
        return out;
    }
    find_separators(&(number_group){row, at_once, 0, count}, true, behind);
    for (; row < end; row += at_once) {
        const number_group group = {row, end - row < at_once ? end - row : at_once, 0, count};
        out = write_group(out, column, &group, behind);
    }
    return out;
}

char *shot_number_rows_write(char *out, const double *const *column, size_t count, size_t row,
                             size_t rows) {
    enum { FEW = 3 };
    if (number_lanes_can() && count * rows >= FEW)
        return write_in_lanes(out, column, count, row, rows);
    for (const size_t end = row + rows; row < end; row++)
        out = write_row(out, column, count, row);
    return out;
}

size_t shot_number_write_digits(char *out, double value, int digits) {
    if (digits >= DBL_DECIMAL_DIG)
        return shot_number_write(out, value);
    if (!isfinite(value))
        return 0;
    const size_t sign = write_sign(out, value);
    return sign + write_rounded(out + sign, fabs(value), digits < 1 ? 1 : digits);
}
