/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all filters share: a sink with a next sink. */
#include <shottrace/trace/stage.h>

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "plain_format.h"

shot_status shot_stage_new(const shot_making *making, const shot_sink_calls *calls, size_t size,
                           shot_stage **out, shot_error *error) {
    shot_stage *stage = calloc(1, size);
    *out = stage;
    if (stage == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a filter");
    stage->sink.calls = calls;
    stage->next = making->next;
    stage->history = making->history;
    stage->notice = making->notice;
    stage->settings = making->settings;
    return SHOT_OK;
}

size_t shot_stage_turn(const shot_stage *stage, const shot_head *head) {
    return stage->history != NULL ? shot_head_went_through(head, stage->history) : 0;
}

/* The longer head borrows all of the given one: a head may hold a long text. */
shot_status shot_stage_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    const shot_stage *stage = (shot_stage *)sink;
    if (stage->history == NULL)
        return shot_sink_begin(stage->next, head, error);
    shot_head longer = *head;
    longer.lines = malloc((head->line_count + 1) * sizeof *longer.lines);
    if (longer.lines == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the head of a shot");
    if (head->line_count > 0)
        memcpy(longer.lines, head->lines, head->line_count * sizeof *longer.lines);
    longer.lines[longer.line_count++] = (shot_line){(char *)"history", (char *)stage->history};
    const shot_status status = shot_sink_begin(stage->next, &longer, error);
    free(longer.lines);
    return status;
}

shot_status shot_stage_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return shot_sink_rows(((shot_stage *)sink)->next, block, error);
}

shot_status shot_stage_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    return shot_sink_mark(((shot_stage *)sink)->next, mark, error);
}

shot_status shot_output_flush(const shot_output *output, shot_text *text, shot_error *error) {
    if (text->length == 0)
        return SHOT_OK;
    shot_status status = output->write(output->user, text->bytes, text->length, error);
    shot_text_clear(text);
    return status;
}

shot_status shot_fail_no_bytes(const char *file, shot_error *error) {
    return shot_fail(error, SHOT_ERR_DATA, "%s",
                     strcmp(file, "-") == 0
                         ? "nothing to read: no byte came; did the program before it fail?"
                         : "nothing to read: the file is empty");
}

bool shot_time_is_far_back(double newest, double time) {
    return newest - time > 2; /* s: four times what shot-clean mends by itself */
}

shot_status shot_fail_disorder(double last, double time, shot_error *error) {
    char before[SHOT_NUMBER_ROOM + 1], now[SHOT_NUMBER_ROOM + 1];
    before[shot_number_write(before, last)] = '\0';
    now[shot_number_write(now, time)] = '\0';
    if (time == last)
        return shot_fail(error, SHOT_ERR_DATA, "the time %s s repeats; mend it with shot-clean",
                         now);
    if (shot_time_is_far_back(last, time))
        return shot_fail(error, SHOT_ERR_DATA,
                         "the time falls from %s to %s s; if another shot begins here, shot-read "
                         "cuts the log; else mend it with shot-clean",
                         before, now);
    return shot_fail(error, SHOT_ERR_DATA,
                     "the time falls from %s to %s s; mend it with shot-clean", before, now);
}

shot_status shot_stage_line(shot_sink *sink, const shot_line *line, shot_error *error) {
    return shot_sink_line(((shot_stage *)sink)->next, line, error);
}

shot_status shot_stage_end(shot_sink *sink, bool cut, shot_error *error) {
    return shot_sink_end(((shot_stage *)sink)->next, cut, error);
}

shot_status shot_stage_pause(shot_sink *sink, shot_error *error) {
    return shot_sink_pause(((shot_stage *)sink)->next, error);
}

shot_status shot_stage_close(shot_sink *sink, bool cut, shot_error *error) {
    return shot_sink_close(((shot_stage *)sink)->next, cut, error);
}

shot_status shot_stage_give_up(shot_sink *sink, shot_status status) {
    shot_sink *next = ((shot_stage *)sink)->next;
    if (shot_sink_end(next, true, NULL) == SHOT_OK)
        shot_sink_close(next, true, NULL);
    return status;
}

void shot_stage_free(shot_sink *sink) {
    free(sink);
}

void shot_notice_say(const shot_notice *notice, const char *format, ...) {
    if (notice->say == NULL)
        return;
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    shot_format_cut(text, sizeof text, format, arguments);
    va_end(arguments);
    notice->say(notice->user, text);
}

void shot_notice_say_lines(const shot_notice *notice, const char *where, const char *lines) {
    for (const char *line = lines; line != NULL && *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        shot_notice_say(notice, "%s%s%.*s", where != NULL ? where : "", where != NULL ? ": " : "",
                        (int)length, line);
        line += length + (line[length] == '\n');
    }
}
