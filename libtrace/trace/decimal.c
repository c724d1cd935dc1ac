/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact decimal sums, in base 10^9. */
#include <shottrace/trace/decimal.h>

#include <stdbool.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "ascii.h"

enum {
    LIMBS = SHOT_DECIMAL_LIMBS,
    LIMB_DIGITS = 9,
    BASE = 1000000000,
    FRACTION_LIMBS = 5,
    DECIMALS = FRACTION_LIMBS * LIMB_DIGITS,
    PLACES = LIMBS * LIMB_DIGITS
};

static const int32_t power_of_ten[LIMB_DIGITS] = {1,      10,      100,      1000,     10000,
                                                  100000, 1000000, 10000000, 100000000};

/* Limbs under BASE in magnitude get the sign of the whole. */
static void one_sign(int64_t limb[LIMBS], shot_decimal *out) {
    int top = LIMBS - 1;
    while (top > 0 && limb[top] == 0)
        top--;
    int64_t sign = limb[top] < 0 ? -1 : 1;
    for (int i = 0; i < top; i++)
        if (limb[i] * sign < 0) {
            limb[i] += sign * BASE;
            limb[i + 1] -= sign;
        }
    for (int i = 0; i < LIMBS; i++)
        out->limb[i] = (int32_t)limb[i];
}

/* ------------------------------------------------------------------------------- reading ---- */

/* The exponent behind a number's digits, from 'e' to `end`, brought into +-10^9. */
static int read_exponent(const char *p, const char *end) {
    if (p == end)
        return 0;
    bool negative = *++p == '-';
    p += *p == '-' || *p == '+';
    int exponent = 0;
    for (; p < end; p++)
        if (exponent < 100000000)
            exponent = exponent * 10 + (*p - '0');
    return negative ? -exponent : exponent;
}

/* Put the digits of [text, end), whose leading one counts 10^place units of the last decimal. */
static bool place_digits(const char *text, const char *end, ptrdiff_t place, shot_decimal *out) {
    for (const char *p = text; p < end; p++) {
        if (*p == '.')
            continue;
        if (*p != '0' && place >= PLACES)
            return false;
        if (place >= 0 && place < PLACES)
            out->limb[place / LIMB_DIGITS] += (*p - '0') * power_of_ten[place % LIMB_DIGITS];
        place--;
    }
    return true;
}

const char *shot_decimal_read(const char *text, const char *end, int shift, shot_decimal *out) {
    double nearest;
    const char *after = shot_number_read(text, end, &nearest);
    if (after == NULL)
        return NULL;
    bool negative = *text == '-';
    text += negative || *text == '+';
    const char *digits_end = text;
    while (digits_end < after && (ascii_is_digit(*digits_end) || *digits_end == '.'))
        digits_end++;
    const char *point = memchr(text, '.', (size_t)(digits_end - text));
    ptrdiff_t whole = (point != NULL ? point : digits_end) - text;
    ptrdiff_t place = whole - 1 + read_exponent(digits_end, after) + shift + DECIMALS;
    shot_decimal d = {{0}};
    if (!place_digits(text, digits_end, place, &d))
        return NULL;
    for (int i = 0; negative && i < LIMBS; i++)
        d.limb[i] = -d.limb[i];
    *out = d;
    return after;
}

shot_decimal shot_decimal_whole(int64_t value) {
    shot_decimal d = {{0}};
    for (int i = FRACTION_LIMBS; i < LIMBS; i++, value /= BASE)
        d.limb[i] = (int32_t)(value % BASE);
    return d;
}

shot_status shot_decimal_from(double value, shot_decimal *out) {
    char text[SHOT_NUMBER_ROOM];
    size_t length = shot_number_write(text, value);
    return shot_decimal_read(text, text + length, 0, out) != NULL ? SHOT_OK : SHOT_ERR_RANGE;
}

/* ---------------------------------------------------------------------------- arithmetic ---- */

/* Sums of two limbs carry one at most, so no division is needed. */
static shot_status add_times(shot_decimal *a, const shot_decimal *b, int sign) {
    int64_t limb[LIMBS], carry = 0;
    for (int i = 0; i < LIMBS; i++) {
        limb[i] = (int64_t)a->limb[i] + sign * (int64_t)b->limb[i] + carry;
        carry = limb[i] >= BASE ? 1 : limb[i] <= -BASE ? -1 : 0;
        limb[i] -= carry * BASE;
    }
    if (carry != 0)
        return SHOT_ERR_RANGE;
    one_sign(limb, a);
    return SHOT_OK;
}

shot_status shot_decimal_add(shot_decimal *a, const shot_decimal *b) {
    return add_times(a, b, 1);
}

shot_status shot_decimal_subtract(shot_decimal *a, const shot_decimal *b) {
    return add_times(a, b, -1);
}

shot_status shot_decimal_multiply(shot_decimal *a, int32_t factor) {
    int64_t limb[LIMBS], carry = 0;
    for (int i = 0; i < LIMBS; i++) {
        int64_t product = (int64_t)a->limb[i] * factor + carry;
        carry = product / BASE;
        limb[i] = product % BASE;
    }
    if (carry != 0)
        return SHOT_ERR_RANGE;
    one_sign(limb, a);
    return SHOT_OK;
}

int shot_decimal_compare(const shot_decimal *a, const shot_decimal *b) {
    for (int i = LIMBS - 1; i >= 0; i--)
        if (a->limb[i] != b->limb[i])
            return a->limb[i] < b->limb[i] ? -1 : 1;
    return 0;
}

/* ------------------------------------------------------------------------------- writing ---- */

/* Whole numbers up to 2^53 over 10^9 are two doubles, and one division rounds once: the clocks of
 * most logs. */
static bool short_value(const shot_decimal *a, double *value) {
    for (int i = 0; i < LIMBS; i++)
        if (a->limb[i] != 0 && i != FRACTION_LIMBS - 1 && i != FRACTION_LIMBS)
            return false;
    int64_t whole = (int64_t)a->limb[FRACTION_LIMBS] * BASE + a->limb[FRACTION_LIMBS - 1];
    *value = (double)whole / BASE;
    return whole > -((int64_t)1 << 53) && whole < (int64_t)1 << 53;
}

double shot_decimal_value(const shot_decimal *a) {
    char text[SHOT_DECIMAL_ROOM];
    double value = 0;
    if (short_value(a, &value))
        return value;
    size_t length = shot_decimal_write(text, a);
    shot_number_read(text, text + length, &value);
    return value;
}

static char *write_limb(char *out, int32_t limb) {
    for (int k = LIMB_DIGITS - 1; k >= 0; k--)
        *out++ = (char)('0' + limb / power_of_ten[k] % 10);
    return out;
}

size_t shot_decimal_write(char *out, const shot_decimal *a) {
    char digits[PLACES];
    char *p = digits;
    bool negative = false;
    for (int i = LIMBS - 1; i >= 0; i--) {
        negative = negative || a->limb[i] < 0;
        p = write_limb(p, a->limb[i] < 0 ? -a->limb[i] : a->limb[i]);
    }
    size_t first = 0, point = PLACES - DECIMALS, last = PLACES;
    while (first < point - 1 && digits[first] == '0')
        first++;
    while (last > point && digits[last - 1] == '0')
        last--;
    char *to = out;
    if (negative)
        *to++ = '-';
    memcpy(to, digits + first, point - first);
    to += point - first;
    if (last > point) {
        *to++ = '.';
        memcpy(to, digits + point, last - point);
        to += last - point;
    }
    return (size_t)(to - out);
}
