/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random numbers that are the same on every machine: for simulated shots, resampling tests and
 * bootstraps.  Not for secrets.
 *
 *     shot_random random = shot_random_at(seed, index);     stream `index` of `seed`
 *     double noise = 0.05 * shot_random_normal(&random);
 *
 * The generator is a value: copy it to remember a place, keep one per thread.  Nothing fails.
 *
 * Sources: xoshiro256** 1.0, Blackman & Vigna 2021, 'Scrambled linear pseudorandom number
 * generators', ACM Trans. Math. Softw. 47(4):36; seeding by splitmix64, Steele, Lea & Flood 2014,
 * 'Fast splittable pseudorandom number generators', OOPSLA.
 */
#ifndef SHOTTRACE_SIGNAL_RANDOM_H
#define SHOTTRACE_SIGNAL_RANDOM_H

#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_random {
    uint64_t state[4];
} shot_random;

/* Stream `index` of `seed`.  Streams of different (seed, index) are independent for every purpose
 * here: their 256-bit states are mixed from both numbers, and overlap with a chance of about
 * 2^-128 a pair. */
SHOT_API shot_random shot_random_at(uint64_t seed, uint64_t index);

/* 64 random bits. */
SHOT_API uint64_t shot_random_bits(shot_random *random);

/* A whole number in [0, n), each equally likely; 0 for n = 0.
 * The 2^64 mod n smallest draws are thrown away, so that the remainder is fair (Knuth, 'The Art of
 * Computer Programming' 2, 3.4.1). */
SHOT_API uint64_t shot_random_below(shot_random *random, uint64_t n);

/* Uniform in [0, 1): 53 random bits times 2^-53. */
SHOT_API double shot_random_uniform(shot_random *random);

/* Uniform in [low, high). */
SHOT_API double shot_random_between(shot_random *random, double low, double high);

/* Standard normal: the quantile (shot_normal_quantile) of the middle of one of 2^53 cells, so that
 * one number costs exactly one draw and |z| <= 8.3. */
SHOT_API double shot_random_normal(shot_random *random);

/* 1 with probability p, else 0. */
SHOT_API int shot_random_chance(shot_random *random, double p);

#ifdef __cplusplus
}
#endif
#endif
