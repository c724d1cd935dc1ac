/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marks of phases that a person made: with a stopwatch, or by an annotation. */
#ifndef SHOT_DETECT_HAND_MARKS_H
#define SHOT_DETECT_HAND_MARKS_H

#include <shottrace/trace/detector.h>

#include "detect/phases.h"

/* The last mark of that kind that a person made, or NULL; a detector's mark that refines it does
 * not take its place.  Where no shot-segment was before, that is every mark but a provisional one;
 * where one was, those without a level that it took or that shot-tag put there. */
const shot_mark *shot_hand_mark(const shot_table *shot, const char *kind);

/* The instants of which the person's marks tell, into known [SHOT_MOMENTS]; NaN where none does.
 * Returns whether there is any.  A mark that ends where it begins tells of its start alone.  Its
 * interval is its own, or how well a hand stops a watch: 0.2 s on either side (common practice, no
 * source). */
bool shot_hand_moments(const shot_table *shot, shot_instant known[]);

/* The marks that were found take the place of the person's of their kinds, and keep what those have
 * besides the times.  SHOT_ERR_MEMORY. */
shot_status shot_hand_marks_refine(const shot_table *shot, shot_findings *found);

#endif
