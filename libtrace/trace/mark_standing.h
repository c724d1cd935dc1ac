/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last word on each finding, of many marks at once. */
#ifndef SHOT_TRACE_MARK_STANDING_H
#define SHOT_TRACE_MARK_STANDING_H

#include <stdbool.h>

#include <shottrace/trace/mark.h>

/* What shot_mark_list_stands says of each mark, in n log n.
 *   standing  [list->count]
 * SHOT_ERR_MEMORY. */
shot_status mark_standing_find(const shot_mark_list *list, bool *standing);

#endif
