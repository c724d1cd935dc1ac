/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fields of a mark by name, for tables of marks, and marks on a clock with an origin. */
#ifndef SHOT_STREAM_MARK_FIELDS_H
#define SHOT_STREAM_MARK_FIELDS_H

#include <stdbool.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/text.h>

/* The name of field `index` in the order of the text of a mark, `kind` not among them; NULL behind
 * the last. */
const char *shot_mark_field_name(size_t index, bool *number);

/* Append the value of a field, of `kind`, or of an extra key, as plain text; `there` is false, and
 * nothing is appended, where it is absent. */
shot_status shot_mark_field(const shot_mark *mark, const char *key, shot_text *text, bool *there);

/* shot_mark_read of a mark on the log's own clock, whose times lose `origin` (NULL: none) as the
 * times of rows do: exactly, in the text. */
shot_status shot_mark_read_less(const char *text, const char *end, const shot_decimal *origin,
                                shot_mark *out, shot_error *error);

#endif
