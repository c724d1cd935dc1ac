/* SPDX-License-Identifier: GPL-3.0-or-later */
/* May the errors of a channel's samples be taken for independent ones? */
#ifndef SHOT_FILTER_ERROR_BASIS_H
#define SHOT_FILTER_ERROR_BASIS_H

#include <stdbool.h>

#include <shottrace/trace/shot.h>

/* What made the errors of its samples depend on each other, for a note: the history line of a
 * filter that smooths or interpolates, or words for the filter that made the channel; borrowed from
 * the head.  NULL: nothing is known against it. */
const char *error_basis_fault(const shot_head *head, const char *channel);

/* Whether shot-resample has interpolated the channel.  It tells the noise of the samples behind the
 * rows, where they are enough to tell it; an estimate from what it made of them would be that of no
 * sensor. */
bool error_basis_is_interpolated(const shot_head *head, const char *channel);

#endif
