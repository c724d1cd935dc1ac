/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 1/f ("flicker") noise at any sampling instants, even or not.
 *
 * The sum of independent Ornstein-Uhlenbeck (first-order autoregressive) processes of equal
 * variance whose time constants are spaced by octaves has a power density that falls like 1/f
 * between the slowest and the fastest of them.  Each process is stepped exactly over any time, so
 * jittered and dropped samples need no special care.
 *
 *     shot_flicker noise;
 *     shot_flicker_start(&noise, random, 64);
 *     y += 0.02 * shot_flicker_step(&noise, dt);
 *
 * Source: van der Ziel 1950, 'On the noise spectra of semi-conductor noise and of flicker effect',
 * Physica 16(4):359-372 (superposition of relaxations); Gillespie 1996, 'Exact numerical simulation
 * of the Ornstein-Uhlenbeck process and its integral', Phys. Rev. E 54(2):2084-2091, eq. 1.9a.
 */
#ifndef SHOTTRACE_SIGNAL_FLICKER_H
#define SHOTTRACE_SIGNAL_FLICKER_H

#include <shottrace/signal/random.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Twelve octaves: from `slowest` down to slowest / 2048. */
enum { SHOT_FLICKER_OCTAVES = 12 };

typedef struct shot_flicker {
    shot_random random;
    double slowest; /* s */
    double level[SHOT_FLICKER_OCTAVES];
} shot_flicker;

/* Start in the stationary state.
 *   random    a generator of its own for this noise (copied)
 *   slowest   longest time constant in s, > 0; 1/f holds from about 1/(6 slowest) Hz up to
 *             2048/(6 slowest) Hz */
SHOT_API void shot_flicker_start(shot_flicker *noise, shot_random random, double slowest);

/* The noise `dt` seconds later (dt >= 0), with mean 0 and variance 1. */
SHOT_API double shot_flicker_step(shot_flicker *noise, double dt);

#ifdef __cplusplus
}
#endif
#endif
