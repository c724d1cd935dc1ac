/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much the slope changes at a place, seen from a window around it: the coefficient of
 * max(t - place, 0) in a least-squares fit of level, slope and this hinge.
 *
 * It is the second derivative of the signal weighted by a bell over the window, so that a break of
 * slope shows its whole change however wide the window is, while a bend of constant curvature shows
 * a change that grows with the width. */
#ifndef SHOT_SIGNAL_HINGE_H
#define SHOT_SIGNAL_HINGE_H

#include "signal/line_sums.h"

/* The difference of the mean slopes over h before and behind weighs the second derivative with a
 * triangle of half-width h, of SD h / sqrt(6); the bell of the hinge, which needs the least noise,
 * has the same SD at a half-width of so many h. */
#define HINGE_BELL 1.118

typedef struct hinge {
    double change; /* slope after less slope before */
    double se;     /* its standard error for white noise of SD 1, weights 1 */
} hinge;

/* Over samples from .. to-1 of `sums`, of which those from `at` on lie behind `place` (all on the
 * clock of sums).  A window without two samples on either side has change 0 and infinite se. */
hinge hinge_fit(const line_sums *sums, size_t from, size_t at, size_t to, double place);

#endif
