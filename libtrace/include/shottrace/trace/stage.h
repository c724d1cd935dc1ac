/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all filters share: a sink with a next sink.
 *
 * A filter embeds a shot_stage as its first member and fills its shot_sink_calls with its own
 * functions and, for what it does not touch, with the shot_stage_... ones below, which hand on.
 */
#ifndef SHOTTRACE_TRACE_STAGE_H
#define SHOTTRACE_TRACE_STAGE_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_stage {
    shot_sink sink;
    shot_sink *next;
    const char *history;
    shot_notice notice;
    const void *settings;
} shot_stage;

/* Allocate a zeroed stage of `size` bytes (the filter's struct) and set it up from `making`. */
SHOT_API shot_status shot_stage_new(const shot_making *making, const shot_sink_calls *calls,
                                    size_t size, shot_stage **out, shot_error *error);

/* Write the text that has gathered, and empty it; writes nothing where there is none. */
SHOT_API shot_status shot_output_flush(const shot_output *output, shot_text *text,
                                       shot_error *error);

/* SHOT_ERR_DATA: nothing came from the file ("-": standard input), though a log cannot be empty. */
SHOT_API shot_status shot_fail_no_bytes(const char *file, shot_error *error);

/* True if `time` [s] lies so far behind the newest of its shot that it is not likely a row that
 * came late (common practice, no source): perhaps another shot begins. */
SHOT_API bool shot_time_is_far_back(double newest, double time);

/* SHOT_ERR_DATA: after `last` the time [s] repeats or falls, which only read and clean accept. */
SHOT_API shot_status shot_fail_disorder(double last, double time, shot_error *error);

/* Hand on.  shot_stage_begin adds the history line to a copy of the head. */
SHOT_API shot_status shot_stage_begin(shot_sink *sink, const shot_head *head, shot_error *error);
SHOT_API shot_status shot_stage_rows(shot_sink *sink, const shot_block *block, shot_error *error);
SHOT_API shot_status shot_stage_mark(shot_sink *sink, const shot_mark *mark, shot_error *error);
SHOT_API shot_status shot_stage_line(shot_sink *sink, const shot_line *line, shot_error *error);
SHOT_API shot_status shot_stage_end(shot_sink *sink, bool cut, shot_error *error);
SHOT_API shot_status shot_stage_pause(shot_sink *sink, shot_error *error);
SHOT_API shot_status shot_stage_close(shot_sink *sink, bool cut, shot_error *error);
SHOT_API void shot_stage_free(shot_sink *sink);

/* How often the shot of that head passed a filter of this one's name before.  What gives ids to
 * marks while rows pass cannot know those that the same filter before it will give to marks of
 * later rows: with a turn other than 0 its ids bear it. */
SHOT_API size_t shot_stage_turn(const shot_stage *stage, const shot_head *head);

/* For a filter that fails by itself within a shot, once it has handed on the rows that it held: the
 * shot and the stream end here as cut short, so that what stands behind hands on its own.  Returns
 * `status`. */
SHOT_API shot_status shot_stage_give_up(shot_sink *sink, shot_status status);

/* Tell a person something through the stage's notice. */
SHOT_API void shot_notice_say(const shot_notice *notice, const char *format, ...) SHOT_PRINTF(2, 3);
/* Each line of a text by itself, behind "WHERE: " if `where` is not NULL; `lines` may be NULL. */
SHOT_API void shot_notice_say_lines(const shot_notice *notice, const char *where,
                                    const char *lines);

#ifdef __cplusplus
}
#endif
#endif
