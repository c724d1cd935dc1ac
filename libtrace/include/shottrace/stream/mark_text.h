/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mark as the text of its line: `knee id=k1 from=6.42 to=6.42 note="final rise"`. */
#ifndef SHOTTRACE_STREAM_MARK_TEXT_H
#define SHOTTRACE_STREAM_MARK_TEXT_H

#include <shottrace/trace/mark.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Append the text of a mark, all that follows `# mark: `. */
SHOT_API shot_status shot_mark_write(shot_text *text, const shot_mark *mark);

/* Read it back: [text, end).  *out is to be freed with shot_mark_free; on error it is empty and
 * the error names the word that is wrong (SHOT_ERR_SYNTAX).  Values with spaces, quotes or nothing
 * in them stand in double quotes, where \" and \\ and \n stand for themselves. */
SHOT_API shot_status shot_mark_read(const char *text, const char *end, shot_mark *out,
                                    shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
