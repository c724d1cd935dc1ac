/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two exact conversions of the C++ run-time, with C linkage. */
#ifndef SHOT_STREAM_NUMBER_TEXT_EXACT_H
#define SHOT_STREAM_NUMBER_TEXT_EXACT_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Reads the whole of [text, end), an unsigned decimal number.  False if its magnitude is out of a
 * double's range, too large or too small; `out` is then untouched. */
bool shot_number_read_exact(const char *text, const char *end, double *out);

/* Writes a finite value as d.ddde+XX: the shortest text that reads back the same if digits is 0,
 * else rounded to `digits` significant digits.  Room for 32 bytes.  Returns their number. */
size_t shot_number_write_exact(char *out, double value, int digits);

#ifdef __cplusplus
}
#endif
#endif
