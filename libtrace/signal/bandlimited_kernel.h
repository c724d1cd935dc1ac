/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights of the band-limited resampler: a Kaiser-windowed sinc at the phases of a bank. */
#ifndef SHOT_SIGNAL_BANDLIMITED_KERNEL_H
#define SHOT_SIGNAL_BANDLIMITED_KERNEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <shottrace/signal/bandlimited.h>

typedef struct bandlimited_kernel {
    double cutoff;  /* cycles per sample */
    double reach;   /* half length in samples */
    double *window; /* owned [terms]: Kaiser's window as a polynomial in 1 - (u / reach)^2 */
    size_t terms;
    size_t half;   /* an output at i + phase uses samples i - half + 1 .. i + half */
    size_t phases; /* rows for phase p / phases, p = -1 .. phases + 1 */
    double *rows;  /* owned [(phases + 3) * 2 * half] */
    bool *ready;   /* owned [phases + 3]: rows are filled when they are first needed */
} bandlimited_kernel;

/* A low-pass for outputs `ratio` samples apart.
 *   up           > 0: the ratio is a fraction with that denominator, and a phase is kept for each
 *                part, where they are not too many
 *   pass, stop   edges of the two bands in cycles per sample, pass < stop
 *   attenuation  dB */
typedef struct bandlimited_design {
    double ratio;
    uint64_t up;
    double pass, stop, attenuation;
} bandlimited_design;

shot_status bandlimited_kernel_make(const bandlimited_design *design, bandlimited_kernel *kernel);

/* The value at x[0] + phase, 0 <= phase <= 1; x points to sample i, with the samples around it. */
double bandlimited_kernel_apply(bandlimited_kernel *kernel, const double *x, double phase);

/* Four values, at x[0] + phase, x[step] + phase, x[2 step] + phase and x[3 step] + phase: the same
 * ones to the bit, sooner. */
void bandlimited_kernel_apply_four(bandlimited_kernel *kernel, const double *x, size_t step,
                                   double phase, double *y);

/* The weights of samples i - half + 1 .. i + half in that value. */
void bandlimited_kernel_weights(bandlimited_kernel *kernel, double phase, double *weight);

void bandlimited_kernel_clear(bandlimited_kernel *kernel);

#endif
