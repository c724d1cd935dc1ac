/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the signs on the picture of a shot mean. */
#ifndef SHOT_PLOT_LEGEND_H
#define SHOT_PLOT_LEGEND_H

#include <shottrace/trace/mark.h>
#include <shottrace/trace/text.h>

/* A line on the signs that these marks are drawn with; nothing for none of them.
 *   figures  that every pulse has its figure behind it: some had no room otherwise */
shot_status plot_legend_write(const shot_mark_list *marks, bool figures, shot_text *out);

#endif
