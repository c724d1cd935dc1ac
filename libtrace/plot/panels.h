/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot as stacked panels over the same time, a channel each, with its findings. */
#ifndef SHOT_PLOT_PANELS_H
#define SHOT_PLOT_PANELS_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/table.h>

#include "plot/page.h"

/* A panel for each channel of the shot, or those named (`channels`, may be empty), without those
 * that belong to another: NAME.se is the standard error of NAME and becomes a band of 95 %,
 * NAME.low and NAME.high become a band, wanted.NAME a panel of NAME less what was wanted.
 *   behind  the same shot before a filter, drawn pale under it; may be NULL
 * All marks of the shot are drawn: leave those that stand (shot_mark_list_keep_standing).
 * SHOT_ERR_DATA with a sentence if a named channel is missing. */
shot_status plot_panels_draw(const shot_table *shot, const shot_table *behind,
                             const shot_texts *channels, const plot_look *look, plot_scene *scene,
                             shot_error *error);

#endif
