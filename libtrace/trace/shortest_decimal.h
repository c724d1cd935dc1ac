/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shortest decimal number that is nearest to one double and no other, for the sizes that logs
 * hold, in whole numbers throughout.
 *
 * Source: Giulietti 2021, 'The Schubfach way to render doubles', sections 3 and 9.  Where the power
 * of ten that the paper rounds to 126 bits is a whole number of 64 bits, as it is here, its product
 * with the double is exact, and with it every comparison.  It is short and called for every number
 * written: it becomes part of its caller.
 */
#ifndef SHOT_TRACE_SHORTEST_DECIMAL_H
#define SHOT_TRACE_SHORTEST_DECIMAL_H

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* 10^0 to 10^19: all powers of ten that 64 bits hold. */
extern const uint64_t shot_power_of_ten[20];

typedef struct shortest_decimal {
    uint64_t digits; /* at most 17; no trailing zero */
    int decimals;    /* of them, behind the point: 0 to 19 */
} shortest_decimal;

#ifdef __SIZEOF_INT128__
__extension__ typedef unsigned __int128 uint128;

/* A magnitude c 2^-shift, c of 53 bits. */
typedef struct shortest_decimal_binary {
    uint64_t c;
    int shift;
} shortest_decimal_binary;

/* False outside 2^-9 .. 2^52 and for whole powers of two, whose lower neighbour is nearer. */
static inline bool shortest_decimal_parts(double magnitude, shortest_decimal_binary *out) {
    enum { BITS = 52, BIAS = 1023 };
    const uint64_t hidden = UINT64_C(1) << BITS;
    uint64_t bits;
    memcpy(&bits, &magnitude, sizeof bits);
    out->c = (bits & (hidden - 1)) | hidden;
    out->shift = BITS + BIAS - (int)(bits >> BITS);
    return out->c != hidden && out->shift >= 1 && out->shift <= BITS + 9;
}

/* -floor(log10(2^-shift)): how many decimals the last bit is worth.  1262611 / 2^22 is log10(2) to
 * 1e-7, enough for these shifts (Giulietti 2021, section 9.3 has more digits for all). */
static inline int shortest_decimal_places(int shift) {
    return (shift * 1262611 + (1 << 22) - 1) >> 22;
}

/* floor(product / 2^60) with the lowest bit set where that is not exact: comparisons with even
 * numbers stay right (Giulietti 2021, section 9.6, 'round to odd'). */
enum { SHORTEST_DECIMAL_SHIFT = 60 };

static inline uint64_t shortest_decimal_odd(uint128 product) {
    const uint64_t rest = (uint64_t)product << (64 - SHORTEST_DECIMAL_SHIFT);
    return (uint64_t)(product >> SHORTEST_DECIMAL_SHIFT) | (rest != 0);
}

/* The value and the ends of the interval that rounds to it, in quarters of the last decimal. */
typedef struct decimal_quarters {
    uint64_t value, lower, upper; /* the ends belong to the interval */
} decimal_quarters;

/* The power of ten, at most 10 2^shift, takes up the rest of the shift, which so is the same for
 * all; a larger shift is taken up by the quarters, of which a bit of the value is four. */
static inline decimal_quarters shortest_decimal_quarters(shortest_decimal_binary value,
                                                         int decimals) {
    const int left = SHORTEST_DECIMAL_SHIFT - value.shift, over = left < 0 ? -left : 0;
    const uint64_t power = shot_power_of_ten[decimals] << (left > 0 ? left : 0);
    const uint128 product = (uint128)(4 * value.c >> over) * power;
    const uint128 half_a_bit = (uint128)(2 >> over) * power;
    const uint64_t odd = value.c & 1; /* halves round to even: an odd number's interval is open */
    return (decimal_quarters){shortest_decimal_odd(product),
                              shortest_decimal_odd(product - half_a_bit) + odd,
                              shortest_decimal_odd(product + half_a_bit) - odd};
}

/* The nearest of the numbers with that many decimals that lie in the interval, or one with a
 * decimal less.  All is worked out and then chosen from, since which it is cannot be foreseen. */
static inline shortest_decimal shortest_decimal_in(const decimal_quarters *q, int decimals) {
    const uint64_t below = q->value / 4, tenth = below / 10, middle = 4 * below + 2;
    const bool short_low = q->lower <= 40 * tenth, short_high = 40 * tenth + 40 <= q->upper;
    const bool is_short = (tenth > 0) & (short_low != short_high);
    const bool low = q->lower <= 4 * below, high = 4 * below + 4 <= q->upper;
    const bool nearer = (q->value > middle) | ((q->value == middle) & (below & 1));
    const uint64_t up = low != high ? high : nearer;
    return (shortest_decimal){is_short ? tenth + short_high : below + up, decimals - is_short};
}

/* False, with *out untouched, for what is not found here: values under 2^-9 or from 2^52 on, whole
 * powers of two, and where the processor lacks a product of 128 bits. */
static inline bool shortest_decimal_find(double magnitude, shortest_decimal *out) {
    shortest_decimal_binary value;
    if (!shortest_decimal_parts(magnitude, &value))
        return false;
    const int decimals = shortest_decimal_places(value.shift);
    const decimal_quarters q = shortest_decimal_quarters(value, decimals);
    shortest_decimal found = shortest_decimal_in(&q, decimals);
    for (; found.decimals > 0 && found.digits % 10 == 0; found.decimals--)
        found.digits /= 10;
    *out = found;
    return true;
}

#else
static inline bool shortest_decimal_find(double magnitude, shortest_decimal *out) {
    return false;
}
#endif

#endif
