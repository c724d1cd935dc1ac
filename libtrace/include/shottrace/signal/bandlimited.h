/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Band-limited resampling of an evenly sampled run to any other even grid: a low-pass whose cut-off
 * follows the lower of the two rates, evaluated only where an output sample is wanted.
 *
 *     shot_bandlimited *b;
 *     shot_bandlimited_new(480, 0, SHOT_BANDLIMITED_DEFAULT, &b);       48 kHz to 100 Hz
 *     while (n = some samples)
 *         write(y, shot_bandlimited_push(b, x, n, y));     y has room for shot_bandlimited_room(b,
 * n) write(y, shot_bandlimited_finish(b, y)); shot_bandlimited_free(b);
 *
 * The kernel is a sinc under a Kaiser window (Kaiser 1974), tabulated at phases fine enough that
 * cubic interpolation between them is below the stop band; where the ratio is a fraction of small
 * numbers a phase is met exactly (polyphase; Crochiere & Rabiner 1983, 'Multirate Digital Signal
 * Processing', chapter 2).  For an arbitrary ratio see Smith & Gossett 1984, 'A flexible
 * sampling-rate conversion method', Proc. IEEE ICASSP.  Every set of weights sums to 1 and has no
 * first moment, so a straight line passes exactly.
 *
 * Ends.  Beyond its first and last sample a run is continued by odd reflection, 2 x_0 - x_k, so a
 * constant and a straight line stay what they are up to the ends, and an end sample that is asked
 * for comes back unfiltered.  (Zeros would bend the ends to 0; weights renormalised over the
 * samples that exist would flatten a slope; even reflection would too.)  A run shorter than the
 * kernel is reflected at both ends again and again.  No output lies before the first input sample
 * or after the last.
 *
 * A missing sample (NaN) spoils every output within the look-ahead; finish the run before it and
 * reset.  The output does not depend on how the input is cut into blocks.
 */
#ifndef SHOTTRACE_SIGNAL_BANDLIMITED_H
#define SHOTTRACE_SIGNAL_BANDLIMITED_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_bandlimited shot_bandlimited;

typedef struct shot_bandlimited_quality {
    double attenuation; /* dB by which what would alias is pushed down, 21 .. 160 */
    double keep;        /* part of the lower rate's band that passes untouched, 0 < keep < 1; the
                         * stop band begins at the end of that band */
} shot_bandlimited_quality;

/* At least 120 dB, with 0.9 of the band kept: a look-ahead of 78 periods of the lower rate. */
#define SHOT_BANDLIMITED_DEFAULT ((shot_bandlimited_quality){.attenuation = 120, .keep = 0.9})

/* Prepare a resampler.
 *   ratio    step of the output over step of the input, > 0: 2 halves the rate
 *   offset   place of the first output, >= 0, in input samples after the first input
 * A whole ratio of 16 and above is taken in two steps (Crochiere & Rabiner 1975), which costs a
 * tenth of one.  Memory: the order of 320 * max(ratio, 1) numbers for the history, and half as many
 * for each phase that is used: one for a whole ratio, the denominator of a fraction while that makes
 * no more than 32768 numbers, else 100 / max(ratio, 1) and a few; with two steps, far less.  *out is owned by the caller (shot_bandlimited_free), NULL on error:
 * SHOT_ERR_RANGE for an argument outside its interval, SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_bandlimited_new(double ratio, double offset,
                                          shot_bandlimited_quality quality, shot_bandlimited **out);

/* An upper bound for what a push of n samples, or a finish after it, can write. */
SHOT_API size_t shot_bandlimited_room(const shot_bandlimited *b, size_t n);

/* Take n samples x, write the outputs that are now decided to y (room as above, not an alias of x)
 * and return their number. */
SHOT_API size_t shot_bandlimited_push(shot_bandlimited *b, const double *x, size_t n, double *y);

/* The run is over: write the rest of its outputs and return their number.  Reset before the next
 * run. */
SHOT_API size_t shot_bandlimited_finish(shot_bandlimited *b, double *y);

/* Begin another run with the same ratio. */
SHOT_API void shot_bandlimited_reset(shot_bandlimited *b, double offset);

/* The weights of the run's samples in an output that has been made, for the propagation of errors:
 * the output is the sum of weight[k] * x[*first + k], the ends and both steps allowed for.
 *   output   its number in the run, from 0
 *   first    the first sample that counts; it does not fall from output to output
 *   weight   room for shot_bandlimited_span(b) numbers
 * Returns how many weights there are.  Some thousand operations; nothing is allocated. */
SHOT_API size_t shot_bandlimited_weights(shot_bandlimited *b, uint64_t output, uint64_t *first,
                                         double *weight);

/* The most samples that an output is made of. */
SHOT_API size_t shot_bandlimited_span(const shot_bandlimited *b);

/* NULL is fine. */
SHOT_API void shot_bandlimited_free(shot_bandlimited *b);

#ifdef __cplusplus
}
#endif
#endif
