/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The nearest multiple of a step, as a logger writes it.  Internal to puck/. */
#ifndef SHOT_PUCK_ROUNDING_H
#define SHOT_PUCK_ROUNDING_H

#include <math.h>

/* A step that is one over a whole number divides by that number, so that 0.1 gives 9.1 and not
 * 9.1000000000000014; adding 0 makes -0 a 0.  A step of 0 rounds nothing. */
static inline double puck_round(double value, double step) {
    if (step <= 0 || isnan(value))
        return value;
    const double parts = floor(1 / step + 0.5);
    if (parts >= 1 && fabs(parts * step - 1) < 1e-9)
        return floor(value * parts + 0.5) / parts + 0.0;
    return floor(value / step + 0.5) * step + 0.0;
}

#endif
