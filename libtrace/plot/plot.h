/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-plot: pictures.  In a library of its own, so that nothing else loads what it draws with. */
#ifndef SHOT_PLOT_PLOT_H
#define SHOT_PLOT_PLOT_H

#include <shottrace/trace/description.h>

/* A writer that takes bytes itself: traces, and the tables that other filters write. */
extern const shot_description shot_plot;

#endif
