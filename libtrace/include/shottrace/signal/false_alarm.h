/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How likely noise alone makes a periodogram peak that high.
 *
 *     double p = shot_false_alarm_baluev(z, n, 0.8, span_variance);
 *
 * z is the standard power of a sinusoid with a fitted mean (lomb_scargle.h): the part of the
 * scatter that it explains, 0 .. 1, of n samples.  The noise is white and of unknown size.  A
 * search looks at all frequencies up to `highest`; of the three answers to "anywhere in the
 * search", Baluev's is right where peaks are few and never far too small, Davies' is an upper
 * bound (it may exceed 1), and the naive one guesses the number of independent frequencies.
 * For noise that is not white see red_noise.h.
 *
 * Sources: Scargle 1982, ApJ 263:835-853, equations 13-14; Horne & Baliunas 1986, ApJ 302:757-763;
 * Baluev 2008, 'Assessing the statistical significance of periodogram peaks', MNRAS 385:1279-1285;
 * Davies 1977, Biometrika 64:247-254.
 */
#ifndef SHOTTRACE_SIGNAL_FALSE_ALARM_H
#define SHOTTRACE_SIGNAL_FALSE_ALARM_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* All: NaN unless 0 <= z <= 1 and n >= 5. */

/* At one frequency that was named beforehand: (1 - z)^((n - 3) / 2). */
SHOT_API double shot_false_alarm_single(double z, size_t n);

/* Anywhere, taking highest * span frequencies as independent; `span` is last time less first. */
SHOT_API double shot_false_alarm_naive(double z, size_t n, double highest, double span);

/* Anywhere: Davies' bound, and Baluev's approximation.  `variance` is that of the sample times,
 * sum (t - mean)^2 / n. */
SHOT_API double shot_false_alarm_davies(double z, size_t n, double highest, double variance);
SHOT_API double shot_false_alarm_baluev(double z, size_t n, double highest, double variance);

/* Anywhere among m independent frequencies, where the noise variance is known and `ratio` is
 * Scargle's power over it: 1 - (1 - exp(-ratio))^m.  And the ratio that has probability p. */
SHOT_API double shot_false_alarm_known(double ratio, double m);
SHOT_API double shot_false_alarm_known_level(double p, double m);

#ifdef __cplusplus
}
#endif
#endif
