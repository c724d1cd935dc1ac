/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values of several settings in blocks (students, days, beans): what each setting gives as if all
 * blocks had it, and what each block adds to all of its values. */
#ifndef SHOTTRACE_SIGNAL_TWO_WAY_H
#define SHOTTRACE_SIGNAL_TWO_WAY_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Least squares of y on a level for each setting and one for each block, without interaction.
 *   y           finite [n]
 *   setting     which of `settings`, from 0, each with a value [n]
 *   block       which of `blocks`, from 0, each with a value; NULL: all of one [n]
 *   level       receives the mean of each setting in the average block, each value counting as one
 *               in that average [settings]
 *   shift       receives what each block adds, 0 on average over the values [blocks]; NULL: not
 *               asked for
 *   spread      receives, over the variance of a value, that of level[i] less the highest level
 *               [settings]; NULL: not asked for
 *   rest, df    receive the sum of squares about the fit, and its degrees of freedom
 * Returns SHOT_OK; SHOT_ERR_SINGULAR for settings and blocks that no chain of shared values ties
 * together, or more of both than values; SHOT_ERR_RANGE for an index that is too large or has no
 * value; SHOT_ERR_MEMORY.  What is received is untouched on failure.
 * Source: randomised blocks, complete or not, e.g. Montgomery 2017, 'Design and Analysis of
 * Experiments', 9th ed., sections 4.1 and 4.4; NIST/SEMATECH e-Handbook, 5.3.3.2. */
SHOT_API shot_status shot_two_way_fit(const double *y, const size_t *setting, size_t settings,
                                      const size_t *block, size_t blocks, size_t n, double *level,
                                      double *shift, double *spread, double *rest, double *df);

#ifdef __cplusplus
}
#endif
#endif
