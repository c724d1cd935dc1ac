/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The polynomials of four windows side by side, where the processor has 256-bit vectors: one alone
 * waits for each of its divisions in turn. */
#ifndef SHOT_SIGNAL_MOMENTS_FOURS_H
#define SHOT_SIGNAL_MOMENTS_FOURS_H

#include "signal/sliding_moments.h"

/* As sliding_moments_solve for each, to the bit; false, with nothing done, for other orders and
 * processors.
 *   window, found  [4] */
bool moments_fours_solve(const window_moments *window, size_t order, size_t derivative,
                         moments_value *found);

#endif
