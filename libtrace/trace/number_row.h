/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A row of numbers as most programs write them. */
#ifndef SHOT_TRACE_NUMBER_ROW_H
#define SHOT_TRACE_NUMBER_ROW_H

#include <stddef.h>

/* Reads `count` finite numbers, with one comma between two of them and a newline behind the last,
 * and nothing else; an empty field is NaN.  All numbers are read as shot_number_read does.
 *   text, end  the bytes that may be looked at; the more follow the row, the faster
 *   out        [count]
 * Returns the start of the next row, or NULL, with `out` in no certain state, where anything else
 * stands there, such as blanks, words, quotes or fewer or more fields: who reads on must look. */
const char *shot_number_row_read(const char *text, const char *end, double *out, size_t count);

#endif
