/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text made to a format by what is quicker than the C library, which takes 1,500 instructions for a
 * line: "%s", "%zu", "%.Ng" of numbers that it writes without an exponent, and what stands between
 * them. */
#ifndef SHOT_TRACE_SHORT_FORMAT_H
#define SHOT_TRACE_SHORT_FORMAT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

/* To the byte what vsnprintf writes in the C locale; false for any other format and number, and
 * where there is no room for all: `out` then holds nothing that can be used. */
bool short_format(char *out, size_t room, size_t *length, const char *format, va_list arguments)
    SHOT_PRINTF(4, 0);

#endif
