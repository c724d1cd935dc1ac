/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An even grid whose times are written in coarse steps. */
#ifndef SHOT_DETECT_EVEN_CLOCK_H
#define SHOT_DETECT_EVEN_CLOCK_H

#include "detect/channel_view.h"

/* Rows at 8.3 Hz with times in tenths of a second come after 0.1 and 0.2 s: a slope of 4 bar/s is
 * off by a half from row to row.  Where all times are those of an even grid to half of a step of
 * their clock (0.1 or 0.01 s), they become the grid's, which are surer; else they stay. */
void shot_view_even_clock(shot_channel_view *view);

#endif
