/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many tests at once: p values that keep the chance of any false alarm at the level. */
#ifndef SHOTTRACE_SIGNAL_MULTIPLICITY_H
#define SHOTTRACE_SIGNAL_MULTIPLICITY_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Adjusted p values of Holm's step-down procedure: reject those that are at most the level.  The
 * i-th smallest of m becomes the largest of (m - j + 1) p_j over j <= i, at most 1.
 *   p         raw p values, 0 to 1; a missing one (NaN) was not a test: it is not counted and
 *             stays missing [n]
 *   adjusted  may be the same array as p [n]
 * Returns SHOT_OK; SHOT_ERR_RANGE if a value is outside 0 to 1; SHOT_ERR_MEMORY.
 * Source: Holm 1979, 'A simple sequentially rejective multiple test procedure', Scand. J. Stat.
 * 6(2):65-70. */
SHOT_API shot_status shot_multiplicity_holm(const double *p, size_t n, double *adjusted);

#ifdef __cplusplus
}
#endif
#endif
