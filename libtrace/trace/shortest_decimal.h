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

/* 10^0 to 10^22: all that a double holds exactly, 5^22 < 2^53. */
enum { SHOT_LAST_EXACT_POWER = 22 };
extern const double shot_exact_power_of_ten[SHOT_LAST_EXACT_POWER + 1];

typedef struct shortest_decimal {
    uint64_t digits; /* at most 17; no trailing zero */
    int decimals;    /* of them, behind the point: 0 to 21 */
} shortest_decimal;

#ifdef __SIZEOF_INT128__
__extension__ typedef unsigned __int128 uint128;

/* A magnitude c 2^-shift, c of 53 bits. */
typedef struct shortest_decimal_binary {
    uint64_t c;
    int shift;
} shortest_decimal_binary;

enum {
    SHORTEST_DECIMAL_UNIT = 60, /* bits of a fraction of the last decimal */
    SHORTEST_DECIMAL_SPARE = 64 - SHORTEST_DECIMAL_UNIT,
    SHORTEST_DECIMAL_MOST = 69 /* shift */
};

/* False outside 2^-17 .. 2^52 and for whole powers of two, whose lower neighbour is nearer. */
static inline bool shortest_decimal_parts(double magnitude, shortest_decimal_binary *out) {
    enum { BITS = 52, BIAS = 1023 };
    const uint64_t hidden = UINT64_C(1) << BITS;
    uint64_t bits;
    memcpy(&bits, &magnitude, sizeof bits);
    out->c = (bits & (hidden - 1)) | hidden;
    out->shift = BITS + BIAS - (int)(bits >> BITS);
    return out->c != hidden && out->shift >= 1 && out->shift <= SHORTEST_DECIMAL_MOST;
}

/* The decimals that the last bit of c 2^-shift is worth, -floor(log10(2^-shift)), and the unit that
 * they make of it: 10^decimals 2^(60-shift), a whole number of 64 bits, from 1 to 10 times 2^60. */
typedef struct shortest_decimal_scale {
    uint64_t power;
    int decimals;
} shortest_decimal_scale;

extern const shortest_decimal_scale shortest_decimal_scales[SHORTEST_DECIMAL_MOST + 1];

/* `yes` if the condition holds, else `no`, without a jump: which it is cannot be foreseen. */
static inline uint64_t shortest_decimal_choose(bool condition, uint64_t yes, uint64_t no) {
    return no ^ ((no ^ yes) & (0 - (uint64_t)condition));
}

/* The nearest of the numbers with so many decimals, or one with a decimal less that rounds to
 * c 2^-shift too.  The product is the value in units of the last decimal, of 60 bits each; `reach`
 * is half a bit of the double in them, at least half a unit and less than five, and a number within
 * it rounds to the double: also one at its very end if the double is even, since halves round to
 * even.  The nearest is always within reach.  All is worked out and then chosen from. */
static inline shortest_decimal shortest_decimal_in(shortest_decimal_binary value) {
    const uint64_t unit = UINT64_C(1) << SHORTEST_DECIMAL_UNIT;
    const uint64_t power = shortest_decimal_scales[value.shift].power;
    const uint64_t reach = power / 2 - (value.c & 1);
    const uint128 product = (uint128)(value.c << SHORTEST_DECIMAL_SPARE) * power;
    const uint64_t below = (uint64_t)(product >> 64);
    const uint64_t over = (uint64_t)product >> SHORTEST_DECIMAL_SPARE;
    const uint64_t nearest =
        below + ((over + (unit / 2 - 1) + (below & 1)) >> SHORTEST_DECIMAL_UNIT);
    const uint64_t tenth = below / 10, above_tenth = (below - 10 * tenth) * unit | over;
    const bool short_low = above_tenth <= reach, short_high = 10 * unit - above_tenth <= reach;
    const bool is_short = short_low | short_high;
    return (shortest_decimal){shortest_decimal_choose(is_short, tenth + short_high, nearest),
                              shortest_decimal_scales[value.shift].decimals - is_short};
}

/* False, with *out untouched, for what is not found here: values under 2^-17 or from 2^52 on, whole
 * powers of two, and where the processor lacks a product of 128 bits. */
static inline bool shortest_decimal_find(double magnitude, shortest_decimal *out) {
    shortest_decimal_binary value;
    if (!shortest_decimal_parts(magnitude, &value))
        return false;
    shortest_decimal found = shortest_decimal_in(value);
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
