/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a knee is, for all that look for one: a break at the scale of the machine.  Common practice,
 * no source. */
#ifndef SHOT_DETECT_KNEE_SIZES_H
#define SHOT_DETECT_KNEE_SIZES_H

/* s over which the slopes just before and just after are taken: sharp ones, and those that pump and
 * gauge round off.  Nearer is no matter of the shot, wider is a bend. */
#define SHOT_KNEE_SHARP   0.2
#define SHOT_KNEE_ROUNDED 0.5

/* s: knees of one sign that lie nearer are one. */
#define SHOT_KNEE_APART 0.3

#endif
