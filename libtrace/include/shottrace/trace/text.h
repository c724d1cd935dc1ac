/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows.
 *
 *     shot_text line = {0};
 *     if (shot_text_add(&line, "shot-") == SHOT_OK && shot_text_add(&line, name) == SHOT_OK)
 *         use(line.bytes);
 *     shot_text_free(&line);
 *
 * A zeroed shot_text is empty and ready.  `bytes` is NULL while nothing was ever added, and ends
 * in a NUL after `length` bytes otherwise.  All functions return SHOT_OK or SHOT_ERR_MEMORY; a
 * failed call leaves the text as it was.
 */
#ifndef SHOTTRACE_TRACE_TEXT_H
#define SHOTTRACE_TRACE_TEXT_H

#include <stdarg.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_text {
    char *bytes;
    size_t length, room;
} shot_text;

/* Make room for `more` further bytes and a NUL. */
SHOT_API shot_status shot_text_reserve(shot_text *text, size_t more);
SHOT_API shot_status shot_text_add(shot_text *text, const char *string);
SHOT_API shot_status shot_text_add_bytes(shot_text *text, const char *bytes, size_t count);
/* The shortest decimal text of `value` (see number_text.h); adds nothing for NaN and infinities. */
SHOT_API shot_status shot_text_add_number(shot_text *text, double value);
SHOT_API shot_status shot_text_add_format(shot_text *text, const char *format, ...)
    SHOT_PRINTF(2, 3);
/* The same from a list of arguments, which is used up. */
SHOT_API shot_status shot_text_add_arguments(shot_text *text, const char *format, va_list arguments)
    SHOT_PRINTF(2, 0);
/* Empty the text and keep its room. */
SHOT_API void shot_text_clear(shot_text *text);
SHOT_API void shot_text_free(shot_text *text);

/* A copy that the caller frees with free(); NULL when out of memory or `string` is NULL. */
SHOT_API char *shot_text_copy(const char *string);
SHOT_API char *shot_text_copy_bytes(const char *bytes, size_t count);

#ifdef __cplusplus
}
#endif
#endif
