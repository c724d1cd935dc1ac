/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantiles of the standard normal distribution, the same bytes on every machine.
 *
 *     double z = shot_normal_quantile(0.975);   1.959963984540054
 *
 * Source: Wichura 1988, 'Algorithm AS 241: The Percentage Points of the Normal Distribution',
 * Applied Statistics 37(3):477-484, routine PPND16: relative accuracy about 1e-16.
 */
#ifndef SHOTTRACE_SIGNAL_NORMAL_H
#define SHOTTRACE_SIGNAL_NORMAL_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The z below which a standard normal variable falls with probability p.
 *   p   0 < p < 1; 0 and 1 give -infinity and +infinity, anything else outside gives NaN */
SHOT_API double shot_normal_quantile(double p);

#ifdef __cplusplus
}
#endif
#endif
