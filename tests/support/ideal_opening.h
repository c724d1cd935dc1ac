/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How narrow can the interval of the onset of an opening be?  The larger of the limit of the
 * sampling (support/ideal.h) and that of the noise: the bound of Cramer and Rao for several
 * unknowns (Kay, "Fundamentals of Statistical Signal Processing: Estimation Theory", 1993,
 * sec. 3.7) for an observer who knows the pressure at the puck, the size of the noise, the shape of
 * the opening, that it takes 0.2 to 2 s, and that the conductance goes along a straight line
 * otherwise; and who does not know when it begins, how long it takes, how large it is, nor the
 * line.  What is known of the length beforehand counts as an observation of it (van Trees,
 * "Detection, Estimation, and Modulation Theory, Part I", 1968, sec. 2.4.3).
 *
 * With onset o, length L, size a, and b + c (t - o) the line,
 *
 *     Q = p (b + c (t - o) + a S((t - o) / L)),   S from 0 to 1
 *
 * and a scale shows W0 plus the integral of that, with a line of its own, as it may weigh what the
 * meter counts in other units.  The derivatives of all samples by the unknowns, over their noise,
 * are the columns of a matrix; what all the others leave of the column of o is the root of the
 * information on o.
 */
#ifndef SHOT_TEST_IDEAL_OPENING_H
#define SHOT_TEST_IDEAL_OPENING_H

#include "support/ideal.h"

typedef struct ideal_opening {
    double onset, seconds; /* s */
    double from, to;       /* s: the line is straight no longer than between these */
} ideal_opening;

/* The width of the 95 % interval of the onset, with Gaussian noise, white, of samples within 5 s of
 * the opening; infinite where no channel shows it. */
double ideal_opening_width(const ideal_curves *curves, const double *times, size_t rows,
                           const ideal_opening *opening);

#endif
