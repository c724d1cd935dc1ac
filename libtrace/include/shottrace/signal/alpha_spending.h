/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking more than once: how small a p must be at each look, so that all looks together raise a
 * false alarm no more often than one look would.
 *
 *     const double seen[] = {0.5, 1};              half of the shots, then all of them
 *     double spent[2], limits[2];
 *     for (size_t i = 0; i < 2; i++)
 *         spent[i] = shot_alpha_spent(0.05, seen[i]);
 *     shot_alpha_spending_limits(seen, spent, 2, limits);    0.0031 and 0.0490
 *
 * The looks need not be evenly spaced, nor their number known; what was seen at each must not have
 * been chosen by what it showed.
 * Sources: Lan & DeMets 1983, 'Discrete sequential boundaries for clinical trials', Biometrika
 * 70(3):659-663; the recursion: Armitage, McPherson & Rowe 1969, J. R. Stat. Soc. A 132:235-244;
 * limits on p for tests that are not normal (Student's t): Jennison & Turnbull 2000, 'Group
 * Sequential Methods with Applications to Clinical Trials', section 3.8.
 */
#ifndef SHOTTRACE_SIGNAL_ALPHA_SPENDING_H
#define SHOTTRACE_SIGNAL_ALPHA_SPENDING_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What of a two-sided alpha may be spent when the part `seen` of the information is there: next to
 * nothing at first, all of it at 1 (the function of Lan & DeMets that comes near the boundary of
 * O'Brien & Fleming 1979, Biometrics 35:549-556, half of alpha to each side).
 *   alpha  0 < alpha < 1
 *   seen   0 is none, 1 and more is all */
SHOT_API double shot_alpha_spent(double alpha, double seen);

/* The two-sided p at each look below which it counts.
 *   information  of each look so far, rising, in any unit (a number of shots) [looks]
 *   spent        of alpha up to each look, rising, the last below 1 [looks]
 *   limits       [looks], to five digits; 0 where less than 1e-15 is spent
 * Cost: the density of what came before stands on some 60 sqrt(information / smaller step beside
 * the look) nodes, and each look sums over those of two: milliseconds for twenty looks of equal
 * steps, as for three of which the last two are a thousandth apart.
 * Returns SHOT_OK; SHOT_ERR_RANGE for what does not rise or lies outside; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_alpha_spending_limits(const double *information, const double *spent,
                                                size_t looks, double *limits);

#ifdef __cplusplus
}
#endif
#endif
