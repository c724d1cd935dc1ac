/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact decimal sums, for clocks.
 *
 * The clock of a log may be an epoch in nanoseconds, 19 digits, of which a double keeps 16.  So
 * an origin is subtracted from the text before it becomes a double, and added again, as text, when
 * the log's own clock is printed:
 *
 *     shot_decimal t, t0;
 *     shot_decimal_read(field, field_end, -3, &t);       // milliseconds to seconds
 *     shot_decimal_subtract(&t, &t0);
 *     double seconds = shot_decimal_value(&t);
 *
 * Nothing here allocates; everything is safe in threads. */
#ifndef SHOTTRACE_TRACE_DECIMAL_H
#define SHOTTRACE_TRACE_DECIMAL_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A fixed-point number of 27 decimal digits before the point and 45 behind it: the sum over i of
 * limb[i] * 10^(9 i - 45).  Limbs other than 0 all have the sign of the number, and stay under
 * 10^9.  Zero is all limbs 0, so `shot_decimal zero = {{0}}`. */
enum { SHOT_DECIMAL_LIMBS = 8 };
typedef struct shot_decimal {
    int32_t limb[SHOT_DECIMAL_LIMBS];
} shot_decimal;

/* Bytes that the longest written decimal needs. */
#define SHOT_DECIMAL_ROOM 80

/* Reads one decimal number at `text`, as shot_number_read takes them, times 10^shift, exactly:
 * shift -3 makes seconds of milliseconds.  Digits behind the 45th decimal are dropped.
 * Returns the first byte after the number; NULL, with `out` untouched, if none starts there or its
 * magnitude is 10^27 or more. */
SHOT_API const char *shot_decimal_read(const char *text, const char *end, int shift,
                                       shot_decimal *out);

/* A whole number; every int64_t fits. */
SHOT_API shot_decimal shot_decimal_whole(int64_t value);

/* The decimal that shot_number_write writes for `value`, so that an origin plus a value of the
 * stream is what a person gets by adding the printed numbers.  SHOT_ERR_RANGE, and `out` untouched,
 * if the value is not finite or its magnitude is 10^27 or more. */
SHOT_API shot_status shot_decimal_from(double value, shot_decimal *out);

/* a = a + b and a = a - b, exactly.  SHOT_ERR_RANGE, and `a` untouched, if the result's magnitude
 * is 10^27 or more. */
SHOT_API shot_status shot_decimal_add(shot_decimal *a, const shot_decimal *b);
SHOT_API shot_status shot_decimal_subtract(shot_decimal *a, const shot_decimal *b);

/* a = a * factor, exactly, for units of a clock that are no power of ten (minutes, hours); the
 * same error.  |factor| < 10^9. */
SHOT_API shot_status shot_decimal_multiply(shot_decimal *a, int32_t factor);

/* -1, 0 or 1 as a is less than, equal to or greater than b. */
SHOT_API int shot_decimal_compare(const shot_decimal *a, const shot_decimal *b);

/* The double nearest to it, halves to even. */
SHOT_API double shot_decimal_value(const shot_decimal *a);

/* Writes all its digits in fixed notation without trailing zeros.
 *   out    room for SHOT_DECIMAL_ROOM bytes; no NUL is appended
 * Returns the number of bytes. */
SHOT_API size_t shot_decimal_write(char *out, const shot_decimal *a);

#ifdef __cplusplus
}
#endif
#endif
