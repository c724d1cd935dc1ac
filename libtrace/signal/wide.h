/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kernels over arrays are compiled twice, and the wider one is taken where the processor has
 * 256-bit vectors.  Each lane of a vector rounds as one number does, products and sums are never
 * contracted and sums are never put in another order, so both give the same bits.
 *
 *     SHOT_WIDE static void halve(double *restrict x, size_t n) { ... a loop without branches ... }
 *
 * What other files call must not be named shot_...: the loader chooses by a symbol that the shared
 * library would then offer, since compilers do not hide it.
 *
 * Loops that look for the smallest or largest bear `#pragma omp simd`: a minimum has no order.
 */
#ifndef SHOT_SIGNAL_WIDE_H
#define SHOT_SIGNAL_WIDE_H

#include <stddef.h>
#include <stdint.h> /* tells which C library this is */

#include "inline.h" /* what they call must become part of them */

/* The choice is made by the loader, which sanitizers do not bear. */
#if defined(__x86_64__) && defined(__GLIBC__) && defined(__GNUC__) && !defined(__clang__) &&       \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define SHOT_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define SHOT_WIDE
#endif

static inline double lesser(double a, double b) {
    return a < b ? a : b;
}

static inline double greater(double a, double b) {
    return a > b ? a : b;
}

#endif
