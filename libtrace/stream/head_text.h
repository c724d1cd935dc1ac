/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The head of a shot as text: its lines and its header. */
#ifndef SHOT_STREAM_HEAD_TEXT_H
#define SHOT_STREAM_HEAD_TEXT_H

#include <shottrace/trace/shot.h>
#include <shottrace/trace/text.h>

/* `# key: value`, or a comment if `key` is NULL, in parts, since a value may be so long that it is
 * written as it goes: `# key: `, then pieces of the value, then a line end by the caller.  A line
 * break inside would start another line and becomes a blank. */
shot_status shot_line_open(shot_text *text, const char *key);
shot_status shot_line_add(shot_text *text, const char *value, size_t length);

/* `NAME [UNIT]`, without line breaks; no quotes are added. */
shot_status shot_title_write(shot_text *text, const shot_channel *channel);

/* `# shot:`, all lines, and the header. */
shot_status shot_head_write(shot_text *text, const shot_head *head);

/* The header alone. */
shot_status shot_header_write(shot_text *text, const shot_head *head);

/* Read back what shot_head_write wrote, lines that it did not write (`# mark:`) among the others.
 * *out is empty, and the status SHOT_OK, if the text is NULL or no such head; free it in any
 * case. */
shot_status shot_head_text_read(const char *text, shot_head *out);

#endif
