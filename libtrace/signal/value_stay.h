/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How likely noise lets the next sample show the same figure. */
#ifndef SHOT_SIGNAL_VALUE_STAY_H
#define SHOT_SIGNAL_VALUE_STAY_H

#include <stddef.h>

/* A residual of a sample from the line between its two neighbours is far from it where it is so
 * many steps: a figure that flickers between two neighbouring steps never is. */
#define VALUE_STAY_FAR 1.5

/* The probability at most that two neighbours show the same figure (value_runs.h, for how):
 *   far    residuals that are far
 *   count  all residuals
 *   step   of the figures, over 0 */
double value_stay(double far, double count, double step);

#endif
