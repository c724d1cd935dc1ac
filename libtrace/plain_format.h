/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text made to a format, whatever the locale of the program that calls: the C library would write
 * a decimal comma where a person's program asked for one, and no filter reads that back. */
#ifndef SHOT_PLAIN_FORMAT_H
#define SHOT_PLAIN_FORMAT_H

#include <stdarg.h>

#include <shottrace/status.h>

/* As vsnprintf of C11, with a decimal point. */
int shot_format_arguments(char *out, size_t room, const char *format, va_list arguments)
    SHOT_PRINTF(3, 0);

/* The same where the text need not come whole: what has no room (> 0) is cut off, behind a whole
 * character of UTF-8. */
void shot_format_cut(char *out, size_t room, const char *format, va_list arguments)
    SHOT_PRINTF(3, 0);

void shot_format(char *out, size_t room, const char *format, ...) SHOT_PRINTF(3, 4);

/* What the name of so many things ends with: "" of one, "s" of any other count. */
const char *shot_plural(size_t count);

#endif
