/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text from outside on a person's page: well formed, and without what a terminal obeys.
 *
 * A log may hold any bytes, and a terminal takes some of them as commands (ECMA-48, 'Control
 * functions for coded character sets', 5).  What goes to a person is made plain first; what goes to
 * a program (a trace, CSV, JSON) keeps its bytes. */
#ifndef SHOTTRACE_TRACE_PLAIN_TEXT_H
#define SHOTTRACE_TRACE_PLAIN_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Bytes of the well-formed UTF-8 character at `text`, which ends with NUL (Unicode 15, table 3-7);
 * 0 where there is none. */
SHOT_API size_t shot_utf8_length(const char *text);

/* Bytes until the next character of a text that ends with NUL, at least 1; `plain` tells whether
 * they are a character that can be shown: no control but line feed and tab, and no bytes that are
 * no UTF-8. */
SHOT_API size_t shot_plain_next(const char *text, bool *plain);

/* Put '?' in the place of each character that cannot be shown, in place; the new length. */
SHOT_API size_t shot_plain_page(char *text);

/* The same for what stands within a line: a line feed or tab becomes '?' too. */
SHOT_API size_t shot_plain_line(char *text);

/* Columns that `count` bytes take: one a character, whatever its width. */
SHOT_API size_t shot_plain_columns(const char *bytes, size_t count);

/* Bytes of the first `columns` characters of a text, or of all where it has fewer. */
SHOT_API size_t shot_plain_cut(const char *text, size_t columns);

#ifdef __cplusplus
}
#endif
#endif
