/* SPDX-License-Identifier: GPL-3.0-or-later */
/* xoshiro256** seeded by splitmix64; see the header for the sources. */
#include <shottrace/signal/random.h>

#include <shottrace/signal/normal.h>

static const double TWO_TO_MINUS_53 = 0x1p-53;

/* Steele, Lea & Flood 2014: the golden-gamma Weyl sequence and its finaliser (variant 13 of
 * Stafford's mixers). */
static uint64_t splitmix64(uint64_t *weyl) {
    uint64_t z = *weyl += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static uint64_t rotate_left(uint64_t x, int by) {
    return (x << by) | (x >> (64 - by));
}

shot_random shot_random_at(uint64_t seed, uint64_t index) {
    /* Each number is mixed before the two meet, so that (1, 2) and (2, 1) differ, and neighbours
     * share nothing. */
    uint64_t from_seed = seed, from_index = ~index;
    shot_random random;
    for (int i = 0; i < 4; i++)
        random.state[i] = splitmix64(&from_seed) ^ rotate_left(splitmix64(&from_index), 32);
    uint64_t weyl = random.state[0] ^ random.state[1];
    for (int i = 0; i < 4; i++)
        random.state[i] += splitmix64(&weyl);
    if ((random.state[0] | random.state[1] | random.state[2] | random.state[3]) == 0)
        random.state[0] = 1; /* the one state from which xoshiro cannot move */
    return random;
}

uint64_t shot_random_bits(shot_random *random) {
    uint64_t *s = random->state;
    const uint64_t result = rotate_left(s[1] * 5, 7) * 9;
    const uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate_left(s[3], 45);
    return result;
}

uint64_t shot_random_below(shot_random *random, uint64_t n) {
    if (n == 0)
        return 0;
    const uint64_t unfair = (UINT64_MAX - n + 1) % n; /* 2^64 mod n */
    uint64_t bits;
    do
        bits = shot_random_bits(random);
    while (bits < unfair);
    return bits % n;
}

double shot_random_uniform(shot_random *random) {
    return (double)(shot_random_bits(random) >> 11) * TWO_TO_MINUS_53;
}

double shot_random_between(shot_random *random, double low, double high) {
    return low + (high - low) * shot_random_uniform(random);
}

double shot_random_normal(shot_random *random) {
    return shot_normal_quantile(shot_random_uniform(random) + TWO_TO_MINUS_53 / 2);
}

int shot_random_chance(shot_random *random, double p) {
    return shot_random_uniform(random) < p;
}
