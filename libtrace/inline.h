/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the compiler must be told where single instructions count. */
#ifndef SHOT_INLINE_H
#define SHOT_INLINE_H

/* A function that must become part of whoever calls it. */
#if defined(__GNUC__)
#define SHOT_INLINE static inline __attribute__((always_inline))
#else
#define SHOT_INLINE static inline
#endif

/* Inside an `if`: it must stay a jump, which the processor foresees, and not become arithmetic on
 * `variable`, for which all that needs it would wait. */
#if defined(__GNUC__)
#define SHOT_STAY_A_JUMP(variable) __asm__("" : "+r"(variable))
#else
#define SHOT_STAY_A_JUMP(variable) ((void)0)
#endif

#endif
