/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What could be seen of an opening at all.
 *
 * A matched filter that knows the instant, the length and the shape of an opening, and the noise,
 * but not the trend on which it stands, has the signal-to-noise ratio d = |what of the noise-free
 * effect no trend can imitate| / SD (Kay 1998, 'Fundamentals of Statistical Signal Processing:
 * Detection Theory', section 4.3), and finds it with probability tail(u - d) at a threshold of u
 * standard errors.  The effect is that of the same shot brewed with and without the opening: flow
 * less the conductance that the puck would have had times pressure, and on the scale its integral.
 * The trend is a polynomial within 5 s, of the flow or of its integral on a scale: the less is
 * known of it, the less can be told before the opening has passed.
 */
#ifndef SHOT_TEST_OPENING_LIMIT_H
#define SHOT_TEST_OPENING_LIMIT_H

#include <shottrace/puck/synth.h>

/* d of the opening that `without` lacks, at `at` s of the program, in the samples that are logged
 * `from` to `until` s of it (infinite: all), on a trend of the flow of that degree: 1 if it is
 * known to be straight. */
double opening_limit_ratio(const shot_synth *shot, const shot_synth *without, double at,
                           double from, double until, int degree);

/* The probability that it is found at a threshold that noise alone reaches in 1 % of shots. */
double opening_limit_chance(double ratio);

#endif
