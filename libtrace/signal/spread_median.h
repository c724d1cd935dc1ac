/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median of sizes that lie on a lattice tells where the next point of the lattice is: it is
 * wrong by up to a fifth, and does not change with the noise until it jumps.  So each is spread
 * over the width of the lattice first (Machado & Santos Silva 2005, 'Quantiles for counts', J. Am.
 * Stat. Assoc. 100:1226-1237, who add uniform noise; this is the median over all such noise). */
#ifndef SHOT_SIGNAL_SPREAD_MEDIAN_H
#define SHOT_SIGNAL_SPREAD_MEDIAN_H

#include <stddef.h>

/* Of n sizes, none of them negative (not -0 either), each spread evenly over `grain`, and mirrored
 * at 0; `median` is that of the sizes as they are, and no more than half of the grain away.  `size`
 * is used up. */
double spread_median(double *size, size_t n, double median, double grain);

/* The same in less time, where it is about as large as `guess` and more than half of the
 * grain, so that the one of the sizes as they are is not 0; else NaN.
 *   work   [n]
 */
double spread_median_about(const double *size, size_t n, double guess, double grain, double *work);

#endif
