/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/rank_value.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

static const uint64_t SIGN = (uint64_t)1 << 63;

/* Whole numbers in the order of the doubles (IEEE 754-2019, 3.4: magnitude behind the sign), and
 * back. */
static uint64_t place_of(double x) {
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    return bits & SIGN ? ~bits : bits | SIGN;
}

static double double_at(uint64_t place) {
    const uint64_t bits = place & SIGN ? place & ~SIGN : ~place;
    double x;
    memcpy(&x, &bits, sizeof x);
    return x;
}

double rank_value(values_up_to *count, void *context, double rank) {
    uint64_t low = place_of(-INFINITY), high = place_of(INFINITY);
    while (low < high) {
        const uint64_t middle = low + (high - low) / 2;
        if (count(double_at(middle), context) >= rank)
            high = middle;
        else
            low = middle + 1;
    }
    return double_at(low) + 0.0; /* the least zero is the negative one */
}

double rank_value_quantile(values_up_to *count, void *context, double n, double p) {
    const double place = (n - 1) * p, rank = floor(place) + 1;
    const double here = rank_value(count, context, rank);
    if (rank >= n || rank - 1 == place)
        return here;
    return here + (place + 1 - rank) * (rank_value(count, context, rank + 1) - here);
}
