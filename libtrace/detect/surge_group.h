/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Openings that lie so near each other that each must be fitted beside the others. */
#ifndef SHOT_DETECT_SURGE_GROUP_H
#define SHOT_DETECT_SURGE_GROUP_H

#include "detect/surge_scan.h"

/* What the filters, fitted with the part, say of its size in each channel. */
void surge_part_estimate(surge_scan *scan, surge_part *part);

/* Take that out of the figures, which are left as if the puck had held; and put it back. */
void surge_part_take_out(surge_scan *scan, const surge_part *part);
void surge_part_put_back(surge_scan *scan, const surge_part *part);

/* Fit a part, which is not taken out, and take it out.  SHOT_ERR_MEMORY. */
shot_status surge_part_fit(surge_scan *scan, surge_part *part);

/* Is a part one and the same opening as a larger one, whose shape is none of those that are tried?
 * It is when one begins before the other has ended, or hardly later. */
bool surge_part_belongs_to(const surge_part *part, const surge_part *larger);

/* Let the larger one begin and end with both. */
void surge_part_join(const surge_part *part, surge_part *larger);

/* May a part be what the shape of a larger one near it leaves, and no event?  It is when it begins
 * before that has ended, or the other way round, or is much smaller. */
bool surge_part_is_left_of(const surge_part *part, const surge_part *larger);

/* Fit each of the parts, which are taken out and stay so, beside the others by turns, until none
 * changes.  SHOT_ERR_MEMORY. */
shot_status surge_group_refine(surge_scan *scan, surge_part *parts, size_t count);

/* The pair of openings that makes the samples likeliest, from first guesses.
 *   least_score   of one opening alone
 *   without       the log-likelihood without any opening
 *   single        the highest with one
 *   out           [2] in order of time
 *   found         whether there is one; else `out` stays as it is
 * The figures stay as they were.  SHOT_ERR_MEMORY. */
shot_status surge_pair_find(surge_scan *scan, const surge_candidate *guesses, size_t count,
                            double least_score, double without, double single, surge_part *out,
                            bool *found);

#endif
