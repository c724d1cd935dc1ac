/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much a series moves around each of its samples. */
#ifndef SHOT_SIGNAL_ROUGHNESS_H
#define SHOT_SIGNAL_ROUGHNESS_H

#include <stddef.h>

/* The mean size of the pseudo-residuals of neighbours within `reach` samples of each of n >= 3.
 *   size   [n - 2]: of the samples but the first and the last
 *   out    [n]
 */
void roughness(const double *size, size_t n, size_t reach, double *out);

#endif
