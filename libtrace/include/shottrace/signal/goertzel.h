/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One frequency of a Fourier transform, sample by sample, in constant memory.
 *
 *     shot_goertzel g;
 *     shot_goertzel_init(&g, 50.0 / 360);                 50 Hz at 360 samples a second
 *     for (...) shot_goertzel_push(&g, x);
 *     shot_goertzel_find(&g, &re, &im);                   sum x_i exp(-j 2 pi f i)
 *
 * The frequency need not be a whole number of cycles.  The state is a value: it may be copied, and
 * nothing has to be freed.
 * Sources: Goertzel 1958, 'An algorithm for the evaluation of finite trigonometric series', Amer.
 * Math. Monthly 65:34-35; Reinsch's modification, which keeps the digits at low and high
 * frequencies: Stoer & Bulirsch, 'Introduction to Numerical Analysis', section 2.3.2; any
 * frequency: Sysel & Rajmic 2012, 'Goertzel algorithm generalized to non-integer multiples of
 * fundamental frequency', EURASIP J. Adv. Signal Process. 2012:56.
 */
#ifndef SHOTTRACE_SIGNAL_GOERTZEL_H
#define SHOTTRACE_SIGNAL_GOERTZEL_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_goertzel {
    double frequency; /* cycles per sample, taken into 0 .. 1 */
    double factor;    /* of the recurrence */
    int upper;        /* nearer to half the sampling rate than to 0 */
    double state, step;
    size_t count;
} shot_goertzel;

/* Begin.  frequency: cycles per sample, any finite number.  SHOT_ERR_RANGE if it is not. */
SHOT_API shot_status shot_goertzel_init(shot_goertzel *g, double frequency);

/* The next sample. */
SHOT_API void shot_goertzel_push(shot_goertzel *g, double x);

/* The sum over the samples so far, real and imaginary part; 0 before the first.  A sine of
 * amplitude A over n samples and whole cycles gives a magnitude of A n / 2. */
SHOT_API void shot_goertzel_find(const shot_goertzel *g, double *re, double *im);

#ifdef __cplusplus
}
#endif
#endif
