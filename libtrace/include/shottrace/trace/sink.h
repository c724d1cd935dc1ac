/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything is a sink.
 *
 * A sink takes, in this order and for each shot of a stream:
 *
 *     begin   the head of a shot: metadata, channels with units
 *     rows    blocks of rows; how rows are cut into blocks carries no meaning
 *     mark    a finding, as soon as it is decided
 *     line    a metadata line or comment that stood after the first row
 *     end     the end of the shot
 *
 * and for the stream: `pause` (the input is about to wait: hand on what you have), and `close`.
 * A reader drives a sink; a filter is a sink that has a next sink; a writer is a sink; a program
 * that embeds the library puts a sink of its own at the end:
 *
 *     struct mine { shot_sink sink; int marks; };
 *     static shot_status on_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
 *         ((struct mine *)sink)->marks++;
 *         return SHOT_OK;
 *     }
 *     static const shot_sink_calls calls = {.mark = on_mark};
 *
 * A call that is NULL means "not interested".  Arguments are borrowed for the time of the call.
 * After a call has failed no further call is made but `free`.
 */
#ifndef SHOTTRACE_TRACE_SINK_H
#define SHOTTRACE_TRACE_SINK_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/block.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/shot.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_sink shot_sink;

/* `cut` tells that the source ended before it had said all: what came is all there is. */
typedef struct shot_sink_calls {
    shot_status (*begin)(shot_sink *sink, const shot_head *head, shot_error *error);
    shot_status (*rows)(shot_sink *sink, const shot_block *block, shot_error *error);
    shot_status (*mark)(shot_sink *sink, const shot_mark *mark, shot_error *error);
    shot_status (*line)(shot_sink *sink, const shot_line *line, shot_error *error);
    shot_status (*end)(shot_sink *sink, bool cut, shot_error *error);
    shot_status (*pause)(shot_sink *sink, shot_error *error);
    shot_status (*close)(shot_sink *sink, bool cut, shot_error *error);
    void (*free)(shot_sink *sink); /* this sink alone, never the next one */
} shot_sink_calls;

struct shot_sink {
    const shot_sink_calls *calls;
};

/* Forward to the sink's call; SHOT_OK where it has none. */
SHOT_API shot_status shot_sink_begin(shot_sink *sink, const shot_head *head, shot_error *error);
SHOT_API shot_status shot_sink_rows(shot_sink *sink, const shot_block *block, shot_error *error);
SHOT_API shot_status shot_sink_mark(shot_sink *sink, const shot_mark *mark, shot_error *error);
SHOT_API shot_status shot_sink_line(shot_sink *sink, const shot_line *line, shot_error *error);
SHOT_API shot_status shot_sink_end(shot_sink *sink, bool cut, shot_error *error);
SHOT_API shot_status shot_sink_pause(shot_sink *sink, shot_error *error);
SHOT_API shot_status shot_sink_close(shot_sink *sink, bool cut, shot_error *error);
SHOT_API void shot_sink_free(shot_sink *sink);

/* A metadata line built on the spot: shot_sink_say(next, "note", error, "no %s", "flow"). */
SHOT_API shot_status shot_sink_say(shot_sink *sink, const char *key, shot_error *error,
                                   const char *format, ...) SHOT_PRINTF(4, 5);

#ifdef __cplusplus
}
#endif
#endif
