/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A double rounded to so many significant digits, with no text in between. */
#include <shottrace/trace/number_text.h>

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "shortest_decimal.h"
#include "trace/number_lanes.h"

/* floor(log10(2^floor(log2 magnitude))), so that of the magnitude or one less.  1233 / 4096 is
 * log10(2) to 5e-6, enough for the magnitudes that come here; the bias keeps the shift positive. */
static inline int power_at_or_under(double magnitude) {
    enum { BITS = 52, BIAS = 1023, SCALE = 12, UP = 64 };
    uint64_t bits;
    memcpy(&bits, &magnitude, sizeof bits);
    const int exponent = (int)(bits >> BITS) - BIAS;
    return ((exponent * 1233 + (UP << SCALE)) >> SCALE) - UP;
}

/* The digits wanted as a whole number, over a power of ten: both are doubles, so that one division
 * rounds as reading their text does (Clinger 1990, "How to read floating point numbers
 * accurately", section 3).  The product that finds them is off by half a unit in its last place:
 * false where that may tip the half way, and for what is too large, too small or too long. */
static inline bool round_short(double magnitude, int digits, double *out) {
    enum { MOST_DIGITS = 15, MOST_DECIMALS = 19 };
    if (!(magnitude >= 1e-5 && magnitude < 1e15) || digits > MOST_DIGITS)
        return false;
    int decimals = digits - 1 - power_at_or_under(magnitude);
    if (decimals < 1 || decimals > MOST_DECIMALS)
        return false;
    double scaled = magnitude * shot_exact_power_of_ten[decimals];
    if (scaled >= shot_exact_power_of_ten[digits])
        scaled = magnitude * shot_exact_power_of_ten[--decimals];
    const int64_t below = (int64_t)scaled;
    const double over_half = scaled - (double)below - 0.5;
    if (fabs(over_half) <= 0x1p-52 * scaled)
        return false;
    *out = (double)(below + (over_half > 0)) / shot_exact_power_of_ten[decimals];
    return true;
}

static double round_by_text(double value, int digits) {
    char text[SHOT_NUMBER_ROOM];
    const size_t length = shot_number_write_digits(text, value, digits);
    double out = NAN;
    if (length > 0)
        shot_number_read(text, text + length, &out);
    return out;
}

double shot_number_round(double value, int digits) {
    double rounded;
    if (value == 0)
        return value;
    if (!round_short(fabs(value), digits < 1 ? 1 : digits, &rounded))
        return round_by_text(value, digits);
    return copysign(rounded, value);
}

void shot_number_round_all(double *values, size_t n, int digits) {
    const int wanted = digits < 1 ? 1 : digits;
    for (size_t i = number_lanes_can() ? number_lanes_round(values, n, wanted) : 0; i < n; i++)
        values[i] = shot_number_round(values[i], wanted);
}
