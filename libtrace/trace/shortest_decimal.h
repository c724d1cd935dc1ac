/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shortest decimal number that is nearest to one double and no other, for the sizes that logs
 * hold, in whole numbers throughout.
 *
 * Source: Giulietti 2021, 'The Schubfach way to render doubles', sections 3 and 9.  Where the power
 * of ten that the paper rounds to 126 bits is a whole number of 64 bits, as it is here, its product
 * with the double is exact, and with it every comparison.
 */
#ifndef SHOT_TRACE_SHORTEST_DECIMAL_H
#define SHOT_TRACE_SHORTEST_DECIMAL_H

#include <stdbool.h>
#include <stdint.h>

/* 10^0 to 10^19: all powers of ten that 64 bits hold. */
extern const uint64_t shot_power_of_ten[20];

typedef struct shortest_decimal {
    uint64_t digits; /* at most 17; no trailing zero */
    int decimals;    /* of them, behind the point: 0 to 19 */
} shortest_decimal;

/* False, with *out untouched, for what is not found here: values under 2^-9 or from 2^52 on, whole
 * powers of two, and where the processor lacks a product of 128 bits. */
bool shortest_decimal_find(double magnitude, shortest_decimal *out);

#endif
