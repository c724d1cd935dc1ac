/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One break of a broken line moved alone, the others held: exact, and at a cost that does not grow
 * with the number of breaks.
 *
 * The cost of all samples left of a piece is a quadratic in the value at its left end, and so from
 * the right; both are handed from piece to piece (dynamic programming over the knots, Bellman &
 * Roth 1969, 'Curve fitting by segmented straight lines', J. Am. Stat. Assoc. 64:1079-1084).  With
 * the others held and the break between two neighbouring samples, the cost is
 *     least cost of both sides + d(x)^2 / V(x),
 * d the distance at x between the lines that are best for each side alone, linear in x, and V > 0
 * quadratic.  So it is least where the two lines cross, or at a sample (Hudson 1966, J. Am. Stat.
 * Assoc. 61:1097-1129): there is no other minimum, since (d^2 / V)' = d (2 d' V - d V') / V^2 and
 * 2 d' V - d V' is linear, the place of the only maximum. */
#ifndef SHOT_SIGNAL_LINE_CORNER_H
#define SHOT_SIGNAL_LINE_CORNER_H

#include "signal/line_search.h"

/* Move breaks one after the other to the best place between the two samples on either side: the
 * cost has corners at samples, where a Gauss-Newton step stalls.  `held` is LINE_SEARCH_NONE, or
 * the break that stays: then only its neighbours, which carry what it pushes away, are moved.
 * place and *cost change where the cost falls; returns whether it did. */
bool line_corner_descend(line_search *search, double *place, double *cost, size_t held);

#endif
