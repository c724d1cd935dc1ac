/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Schubfach where all of its products are exact. */
#include "trace/shortest_decimal.h"

#include <string.h>

const uint64_t shot_power_of_ten[20] = {
    1u,
    10u,
    100u,
    1000u,
    10000u,
    100000u,
    1000000u,
    10000000u,
    100000000u,
    1000000000u,
    10000000000u,
    100000000000u,
    1000000000000u,
    10000000000000u,
    100000000000000u,
    1000000000000000u,
    10000000000000000u,
    100000000000000000u,
    1000000000000000000u,
    10000000000000000000u,
};

#ifdef __SIZEOF_INT128__
__extension__ typedef unsigned __int128 uint128;

/* A magnitude c 2^-shift, c of 53 bits. */
typedef struct binary {
    uint64_t c;
    int shift;
} binary;

/* False outside 2^-9 .. 2^52 and for whole powers of two, whose lower neighbour is nearer. */
static bool take_apart(double magnitude, binary *out) {
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
static int decimals_of(int shift) {
    return (shift * 1262611 + (1 << 22) - 1) >> 22;
}

/* floor(product / 2^shift) with the lowest bit set where that is not exact: comparisons with even
 * numbers stay right (Giulietti 2021, section 9.6, 'round to odd'). */
static uint64_t rounded_to_odd(uint128 product, int shift) {
    const uint64_t whole = (uint64_t)(product >> shift);
    const uint128 rest = product & (((uint128)1 << shift) - 1);
    return whole | (rest != 0);
}

/* The value and the ends of the interval that rounds to it, in quarters of the last decimal. */
typedef struct quarters {
    uint64_t value, lower, upper; /* the ends belong to the interval */
} quarters;

static quarters quarters_of(binary value, int decimals) {
    const uint64_t power = shot_power_of_ten[decimals];
    const uint128 product = (uint128)(4 * value.c) * power, half_a_bit = (uint128)2 * power;
    const uint64_t odd = value.c & 1; /* halves round to even: an odd number's interval is open */
    return (quarters){rounded_to_odd(product, value.shift),
                      rounded_to_odd(product - half_a_bit, value.shift) + odd,
                      rounded_to_odd(product + half_a_bit, value.shift) - odd};
}

/* The nearest of the numbers with that many decimals that lie in the interval, or one with a
 * decimal less. */
static shortest_decimal shortest_in(const quarters *q, int decimals) {
    const uint64_t below = q->value / 4, tenth = below / 10;
    if (tenth > 0) {
        const bool low = q->lower <= 40 * tenth, high = 40 * tenth + 40 <= q->upper;
        if (low != high)
            return (shortest_decimal){tenth + high, decimals - 1};
    }
    const bool low = q->lower <= 4 * below, high = 4 * below + 4 <= q->upper;
    if (low != high)
        return (shortest_decimal){below + high, decimals};
    const uint64_t middle = 4 * below + 2;
    const bool up = q->value > middle || (q->value == middle && (below & 1));
    return (shortest_decimal){below + up, decimals};
}

bool shortest_decimal_find(double magnitude, shortest_decimal *out) {
    binary value;
    if (!take_apart(magnitude, &value))
        return false;
    const int decimals = decimals_of(value.shift);
    const quarters q = quarters_of(value, decimals);
    shortest_decimal found = shortest_in(&q, decimals);
    for (; found.decimals > 0 && found.digits % 10 == 0; found.decimals--)
        found.digits /= 10;
    *out = found;
    return true;
}

#else
bool shortest_decimal_find(double magnitude, shortest_decimal *out) {
    return false;
}
#endif
