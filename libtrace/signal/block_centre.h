/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What blocks add, taken from a column: a fit of columns that are all centred gives what a fit with
 * a level for each block would, without a column for each. */
#ifndef SHOT_SIGNAL_BLOCK_CENTRE_H
#define SHOT_SIGNAL_BLOCK_CENTRE_H

#include <stddef.h>

/* Take the mean of its block from each value, in steps that lose no digits.
 *   block        which of `blocks`, from 0, each with a value [n]
 *   mean, count  receive those of each block [blocks]
 * Source: Frisch & Waugh 1933, Econometrica 1:387-401; Lovell 1963, J. Am. Stat. Assoc.
 * 58:993-1010.
 */
static inline void centre_in_blocks(double *v, const size_t *block, size_t blocks, size_t n,
                                    double *mean, double *count) {
    for (size_t b = 0; b < blocks; b++)
        mean[b] = count[b] = 0;
    for (size_t i = 0; i < n; i++)
        mean[block[i]] += (v[i] - mean[block[i]]) / ++count[block[i]];
    for (size_t i = 0; i < n; i++)
        v[i] -= mean[block[i]];
}

#endif
