/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The true phases of a brew, by the definitions of docs/format.md.  Internal to puck/. */
#ifndef SHOT_PUCK_PHASES_H
#define SHOT_PUCK_PHASES_H

#include <shottrace/puck/brew.h>

/* Instants in s; NaN where the brew has none. */
struct phases {
    double filled;  /* end of fill */
    double rise;    /* start of the main rise */
    double brewing; /* end of preinfusion */
    double off;     /* pump off, or lever back */
    double rest;    /* pressure under 0.5 bar after that */
    bool direct;    /* no pre-wetting: no soak */
};

struct phases phases_find(const shot_brew *brew);

/* Least pressure over the puck between two instants, bar. */
double phases_lowest(const shot_brew *brew, double from, double to);

#endif
