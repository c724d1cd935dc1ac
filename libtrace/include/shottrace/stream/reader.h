/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The reader of trace streams: bytes in, any sink driven.
 *
 *     shot_source *source;
 *     shot_reader_settings settings = {0};
 *     shot_reader_new(&settings, sink, &source, &error);
 *     while ((n = read(...)) > 0)
 *         source->calls->push(source, bytes, n, &error);
 *     source->calls->finish(source, &error);
 *     source->calls->free(source);
 *
 * Plain CSV with a header is a trace stream too.  Where the bytes are cut into pushes carries no
 * meaning.  A line that cannot be read is an error with its file and line; what came before it has
 * then been handed on, and the sink was told that the shot and the stream were cut.
 */
#ifndef SHOTTRACE_STREAM_READER_H
#define SHOTTRACE_STREAM_READER_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_reader_settings {
    bool accept_disorder; /* times may repeat or fall */
    bool go_on;           /* after a bad line the next file may follow: the sink is told that the
                             shot was cut, and the stream is closed as cut by `finish` alone */
    shot_notice notice;   /* warnings: a name that came twice, a wrong count */
} shot_reader_settings;

/* `next` is borrowed.  *out is freed with its own call. */
SHOT_API shot_status shot_reader_new(const shot_reader_settings *settings, shot_sink *next,
                                     shot_source **out, shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
