/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to and from text, exactly, whatever the locale.
 *
 * A number that is written here and read here is the same double, bit for bit, and reading gives
 * the double nearest to the text (round half to even), as IEEE 754-2019, section 5.12, asks.
 *
 *     double bar;
 *     const char *after = shot_number_read(field, field_end, &bar);
 *     if (after != field_end)
 *         ... not a number, or something follows it ...
 *     size_t length = shot_number_write(line, bar);
 *
 * The few-digit decimals of logs take a short path, and so does what is computed from them; all
 * others go to the C++ run-time's std::from_chars and std::to_chars.  Nothing here
 * allocates; everything is safe in threads. */
#ifndef SHOTTRACE_TRACE_NUMBER_TEXT_H
#define SHOTTRACE_TRACE_NUMBER_TEXT_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Bytes that writing a number needs; the text itself is shorter. */
#define SHOT_NUMBER_ROOM 40

/* Reads one decimal number that starts at `text`: an optional sign, digits with an optional '.',
 * at least one digit, an optional exponent.  No leading spaces, no hexadecimal, no inf or nan.
 *   text, end  the bytes to read, [text, end); no terminating NUL is needed
 *   out        the nearest double; +-infinity where the text is too large for one (the caller
 *              treats it as missing), +-0 or a subnormal where it is too small
 * Returns the first byte after the number; NULL, with `out` untouched, if none starts there.
 * "1e" and "1e+" are the number 1 followed by something else, as for strtod. */
SHOT_API const char *shot_number_read(const char *text, const char *end, double *out);

/* Writes the shortest text that reads back as the same double; of several, the nearest one.
 *   out    room for SHOT_NUMBER_ROOM bytes; no NUL is appended
 * Fixed notation for 1e-5 <= |value| < 1e15 ("100000", "0.00012"), exponent form outside ("1e+22",
 * "2.5e-07"); negative zero is "-0".
 * Returns the number of bytes: 0 for NaN and infinities, which are missing values. */
SHOT_API size_t shot_number_write(char *out, double value);

/* The same with at most `digits` significant digits, 1 <= digits <= 17 (others are brought into
 * that interval); the exact value is rounded half to even, and no trailing zeros are written.
 * 12.3456 with 3 digits is "12.3". */
SHOT_API size_t shot_number_write_digits(char *out, double value, int digits);

/* The double that the text of shot_number_write_digits reads back as; NaN for NaN and infinities.
 */
SHOT_API double shot_number_round(double value, int digits);

/* The same for n values in their places, in less time than one by one. */
SHOT_API void shot_number_round_all(double *values, size_t n, int digits);

#ifdef __cplusplus
}
#endif
#endif
