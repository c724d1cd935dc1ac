/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to text and back, four side by side, where the processor has 256-bit vectors of whole
 * numbers. */
#ifndef SHOT_TRACE_NUMBER_LANES_H
#define SHOT_TRACE_NUMBER_LANES_H

#include <stdbool.h>
#include <stddef.h>

enum { NUMBERS_AT_ONCE = 32 };

/* Whether this processor can. */
bool number_lanes_can(void);

/* Writes numbers as shot_number_write does, each with a byte behind it.
 *   value   [NUMBERS_AT_ONCE], of which n are numbers
 *   behind  [n]
 *   out     room for n * (SHOT_NUMBER_ROOM + 1) bytes
 * Returns the end of what was written.  Only where number_lanes_can says so. */
char *number_lanes_write(char *out, const double *value, size_t n, const char *behind);

/* Reads rows as shot_number_row_read does, while their fields are numbers of at most eight bytes.
 *   text, end  the bytes that may be looked at
 *   columns    1 to NUMBERS_AT_ONCE
 *   value      [NUMBERS_AT_ONCE]
 * Returns the start of the next row; how many were read in *rows, none where anything else stands
 * there or too few bytes follow.  Only where number_lanes_can says so. */
const char *number_lanes_read(const char *text, const char *end, size_t columns, double *value,
                              size_t *rows);

/* Rounds numbers as shot_number_round does, those in front that fill whole lanes; how many.  Only
 * where number_lanes_can says so.
 *   digits  1 or more */
size_t number_lanes_round(double *value, size_t n, int digits);

#endif
