/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The instant at which a channel leaves its level, when nobody knows how it leaves.
 *
 *     y = b + d (t - t0) + c (t - t0)^p for t > t0,   y = b + d (t - t0) before
 *
 * A valve that opens makes a corner (p = 1), a mass that is set moving or a tube that fills first
 * starts gently (p = 2, 3).  Every t0 is tried with every p; the interval holds all t0 that fit,
 * with some p, not worse than z^2 noise variances than the best: the profile likelihood of t0
 * (Seber & Wild 1989, 'Nonlinear Regression', section 5.2.1), which so counts in that the shape is
 * not known. */
#ifndef SHOT_DETECT_POWER_ONSET_H
#define SHOT_DETECT_POWER_ONSET_H

#include "detect/onset.h"

typedef struct shot_power_rule {
    double from, to;         /* samples looked at, s: the level and the first part of the way */
    double earliest, latest; /* where t0 may lie, s */
    double level, level_sd;  /* what is known of b beforehand; an infinite SD: nothing */
    bool sloped;             /* the level before may slope; else d = 0 */
    int sign;                /* 1: leaves upwards, -1: downwards */
    int powers;              /* 1 to this, at most 3, are tried */
} shot_power_rule;

/* NaN if there are too few samples or none lies beyond the level.  SHOT_ERR_MEMORY. */
shot_status shot_power_onset(const shot_channel_view *view, const shot_power_rule *rule,
                             shot_instant *out);

/* The same, and what each of the powers alone tells: `alone` [rule->powers], which costs little
 * more. */
shot_status shot_power_onset_each(const shot_channel_view *view, const shot_power_rule *rule,
                                  shot_instant *alone, shot_instant *any);

#endif
