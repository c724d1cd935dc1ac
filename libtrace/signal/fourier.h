/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The discrete Fourier transform of real numbers, by FFTW (Frigo & Johnson 2005, 'The design and
 * implementation of FFTW3', Proc. IEEE 93(2):216-231).
 *
 * FFTW's planner is the one part of it that may not run in two threads at once.  It is put behind
 * FFTW's own lock (fftw_make_planner_thread_safe), which also covers a program around us that
 * plans at the same time; we keep no lock or plan of our own between calls.  Plans are estimated,
 * not measured, so that the same length always takes the same path and gives the same bits.
 */
#ifndef SHOT_SIGNAL_FOURIER_H
#define SHOT_SIGNAL_FOURIER_H

#include <complex.h>
#include <stddef.h>

#include <fftw3.h>

#include <shottrace/status.h>

typedef struct fourier {
    size_t n;
    double *x;           /* [n] */
    double complex *bin; /* [n / 2 + 1], bin[k] = sum x_i exp(-j 2 pi i k / n) */
    fftw_plan forward, backward;
} fourier;

/* n >= 1.  On error nothing is left to clear. */
shot_status fourier_make(size_t n, fourier *f);

/* x to bin; x is kept. */
void fourier_forward(fourier *f);

/* bin to x, divided by n; bin is spoilt. */
void fourier_backward(fourier *f);

void fourier_clear(fourier *f);

/* The shortest length >= n that transforms fast: no prime factor above 5. */
size_t fourier_good_length(size_t n);

#endif
