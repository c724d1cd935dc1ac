/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words broken into lines. */
#ifndef SHOTTRACE_TRACE_WRAP_H
#define SHOTTRACE_TRACE_WRAP_H

#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Append `words`, broken at spaces so that no line is over `width` columns where that can be done,
 * and a line break.
 *   column   where the text already stands on its line
 *   indent   where later lines start
 * A line break in `words` breaks the line there. */
SHOT_API shot_status shot_text_add_wrapped(shot_text *text, const char *words, size_t column,
                                           size_t indent, size_t width);

#ifdef __cplusplus
}
#endif
#endif
