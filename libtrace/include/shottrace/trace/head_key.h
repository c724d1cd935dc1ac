/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The keys of a shot's head: which ones a person may set, and what their values are. */
#ifndef SHOTTRACE_TRACE_HEAD_KEY_H
#define SHOTTRACE_TRACE_HEAD_KEY_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The unit of a key that the library knows ("g" of dose, "" of score), or NULL.  Static storage. */
SHOT_API const char *shot_head_key_unit(const char *key);

/* SHOT_OK if a person may set the key: small letters, digits, '.', '-', '_', a letter first, and
 * none that the filters write themselves (history, mark, end, ...).  SHOT_ERR_SYNTAX with a
 * sentence otherwise. */
SHOT_API shot_status shot_head_key_check(const char *key, shot_error *error);

/* SHOT_OK if `value` is one that the key can have in a stream, as every value of a key that is the
 * person's own.  SHOT_ERR_UNIT with a sentence that starts with the key if it cannot be read, or
 * lies outside what is plausible in any kitchen, or is a dose that no basket holds;
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_head_key_judge(const char *key, const char *value, shot_error *error);

/* Append `value` as it stands behind the key: of a known key in its unit ("18.2g" and
 * "18,2 g" of dose are "18.2 g"), any other text in one line,
 * without blanks before it.  SHOT_ERR_UNIT with a sentence if a known key cannot have it, or it
 * lies outside what is plausible; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_head_key_value(const char *key, const char *value, shot_text *out,
                                         shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
