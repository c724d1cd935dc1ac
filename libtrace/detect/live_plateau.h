/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pressure at the puck has come up: told while samples arrive.
 *
 * Every twentieth of a second, by the samples' own clock, straight lines are fitted to the last
 * 0.4 s and to the 0.4 s before, or to three samples each of a slow gauge, two of a very slow one.
 * The first main plateau is the first level that the next 3 s do not exceed by more than 3 %
 * (docs/format.md); 3 s are too long to wait, so that it is worked out from the two slopes how much
 * the pressure will still rise, as a first-order lag does.  A plateau is told as soon as 95 % of it
 * are reached.  If the pressure then goes beyond what a plateau may, it was none, and the next one
 * takes its place; so it was if the pressure falls off within 5 s, which was a pulse.  Once the
 * pump has pulsed, a rise that has not lasted longer than a pulse is taken for one.
 *
 * Behind a restrictor the gauge shows K Q^2 more than the puck has; the least p / Q^2 of strong
 * flow so far is K (detect/puck_pressure.h).
 */
#ifndef SHOT_DETECT_LIVE_PLATEAU_H
#define SHOT_DETECT_LIVE_PLATEAU_H

#include <stdbool.h>

#include <stddef.h>

/* Set the first two, all else zero. */
typedef struct live_plateau {
    bool puck_gauge;    /* no restrictor lies before the gauge */
    double least;       /* bar above rest: no plateau is told at less */
    double at;          /* when 95 % of the plateau was first reached, the last that was told */
    double level;       /* that plateau, bar above rest; 0: none yet */
    double next_look;   /* s */
    double told_t;      /* when it was told */
    double top_flow, k; /* highest flow so far, ml/s, and least p / Q^2, bar.s2/ml2 */
    double noise;       /* median of the residual variances of the lines so far */
    size_t lines;
    double rise_t, peak_t, peak, trough; /* of the last run of the pump, s and bar above rest */
    double longest;                      /* pulse so far, s */
    bool looked, running;
} live_plateau;

/* After each row: t, p and q are the columns so far, n rows, q NULL without a flow meter; `rest` is
 * the pressure without any.  True if a plateau is told now, the first or a better one. */
bool live_plateau_look(live_plateau *plateau, const double *t, const double *p, const double *q,
                       size_t n, double rest);

/* Since when the basket is full: the puck holds back, so that it has half of the pressure that the
 * gauge shows, and 0.5 bar.  Half of a pressure on which it will be held is not known yet, so that
 * the time is that of a quarter of what it shows, and of 0.5 bar.  NaN where two samples do not say
 * so by more than their noise, or where nobody knows what a restrictor takes off. */
double live_plateau_full(const live_plateau *plateau, const double *t, const double *p,
                         const double *q, size_t n, double rest);

#endif
