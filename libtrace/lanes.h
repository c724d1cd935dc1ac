/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Four numbers of 64 bits side by side, for what is spelled out where the compiler makes no vectors
 * of it.  What is WITH_LANES may only be called where lanes_are_there() says so. */
#ifndef SHOT_LANES_H
#define SHOT_LANES_H

#if defined(__x86_64__) && defined(__GNUC__)
#define SHOT_HAS_LANES

#include <immintrin.h>
#include <stdbool.h>
#include <stdint.h>

/* This and what becomes part of it may use the wide vectors. */
#define WITH_LANES __attribute__((target("avx2")))
#define IN_LANES   WITH_LANES static inline __attribute__((always_inline))

enum { LANES = 4 };

static inline bool lanes_are_there(void) {
    return __builtin_cpu_supports("avx2");
}

IN_LANES __m256i each(uint64_t value) {
    return _mm256_set1_epi64x((int64_t)value);
}

IN_LANES __m256i load(const void *place) {
    return _mm256_loadu_si256((const __m256i *)place);
}

#endif
#endif
