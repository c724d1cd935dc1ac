/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values whose keys lie in a range, brought together. */
#ifndef SHOT_SIGNAL_GATHER_H
#define SHOT_SIGNAL_GATHER_H

#include <stddef.h>

/* Copies, in their order, the values whose keys are from low to high, the ends included.
 *   key, value  [n]; no key is NaN
 *   out         [n]; may be `value`, or the keys if these are the values
 *   *below      how many keys are less than low
 * Returns how many were copied; what lies behind them in `out` is overwritten too. */
size_t gather_between(const double *key, const double *value, size_t n, double low, double high,
                      double *out, size_t *below);

#endif
