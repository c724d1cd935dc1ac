/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text inside other text: fields of CSV (RFC 4180) and strings of JSON (RFC 8259). */
#ifndef SHOTTRACE_TRACE_QUOTING_H
#define SHOTTRACE_TRACE_QUOTING_H

#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Append `value` as one CSV field: in quotes where it holds a comma, a quote or a line break.
 * NULL is an empty field. */
SHOT_API shot_status shot_text_add_csv(shot_text *text, const char *value);

/* Append `value` as a JSON string with its quotes.  Bytes that are no UTF-8 become U+FFFD, so that
 * the result is always valid.  NULL is null. */
SHOT_API shot_status shot_text_add_json(shot_text *text, const char *value);

#ifdef __cplusplus
}
#endif
#endif
