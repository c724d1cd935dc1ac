/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the signs on the picture of a shot mean. */
#ifndef SHOT_PLOT_LEGEND_H
#define SHOT_PLOT_LEGEND_H

#include <shottrace/trace/mark.h>
#include <shottrace/trace/text.h>

/* A line on the signs that these marks are drawn with; nothing for none of them. */
shot_status plot_legend_write(const shot_mark_list *marks, shot_text *out);

#endif
