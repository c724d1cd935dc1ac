/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything is a sink. */
#include <shottrace/trace/sink.h>

#include <stdarg.h>

#include <shottrace/trace/text.h>

shot_status shot_sink_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    return sink->calls->begin ? sink->calls->begin(sink, head, error) : SHOT_OK;
}

shot_status shot_sink_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return sink->calls->rows && block->rows > 0 ? sink->calls->rows(sink, block, error) : SHOT_OK;
}

shot_status shot_sink_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    return sink->calls->mark ? sink->calls->mark(sink, mark, error) : SHOT_OK;
}

shot_status shot_sink_line(shot_sink *sink, const shot_line *line, shot_error *error) {
    return sink->calls->line ? sink->calls->line(sink, line, error) : SHOT_OK;
}

shot_status shot_sink_end(shot_sink *sink, bool cut, shot_error *error) {
    return sink->calls->end ? sink->calls->end(sink, cut, error) : SHOT_OK;
}

shot_status shot_sink_pause(shot_sink *sink, shot_error *error) {
    return sink->calls->pause ? sink->calls->pause(sink, error) : SHOT_OK;
}

shot_status shot_sink_close(shot_sink *sink, bool cut, shot_error *error) {
    return sink->calls->close ? sink->calls->close(sink, cut, error) : SHOT_OK;
}

void shot_sink_free(shot_sink *sink) {
    if (sink != NULL && sink->calls->free)
        sink->calls->free(sink);
}

shot_status shot_sink_say(shot_sink *sink, const char *key, shot_error *error, const char *format,
                          ...) {
    enum { USUAL = 320 };
    shot_text value = {0};
    va_list arguments;
    va_start(arguments, format);
    shot_status status = shot_text_reserve(&value, USUAL);
    if (status == SHOT_OK)
        status = shot_text_add_arguments(&value, format, arguments);
    va_end(arguments);
    if (status != SHOT_OK) {
        shot_text_free(&value);
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a line of text");
    }
    const shot_line line = {(char *)key, value.bytes}; /* borrowed */
    status = shot_sink_line(sink, &line, error);
    shot_text_free(&value);
    return status;
}
