/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each shot as a recording. */
#include "stream/write_recording.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/mark_text.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/table.h>

#include "lack_of_memory.h"
#include "recording/recording_writer.h"
#include "stream/head_text.h"
#include "stream/recording_file.h"
#include "stream/recording_scale.h"
#include "stream/recording_tracks.h"
#include "stream/write_settings.h"
#include "trace/time_origin.h"
#include "plain_format.h"

typedef struct recording_sink {
    shot_sink sink;
    const struct shot_write_settings *settings;
    shot_notice notice;
    const char *history;
    shot_recording_plan plan; /* what is the same for all shots */
    shot_scales scales;
    shot_recording_files files;
    shot_table shot; /* the one at hand */
    size_t words;    /* bytes of them that the container holds */
    size_t wordless; /* shots of which it does not hold all, and what they have lost */
    size_t tracks, marks, lines;
} recording_sink;

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "a recording", error);
}

/* ------------------------------------------------------------------------- what is told ------- */

/* The scale as --scale takes it, so that shot-read finds what the samples stand for; nothing for a
 * name that would break its form. */
static shot_status add_scales(const shot_recorded *recorded, shot_text *text) {
    for (size_t c = 0; c < recorded->count; c++) {
        const shot_recorded_track *track = &recorded->tracks[c];
        if (track->scale == NULL || strpbrk(track->channel->name, "=,") != NULL)
            continue;
        SHOT_TRY(shot_text_add_format(text, "%s%s=0FS:", text->length > 0 ? "," : "",
                                      track->channel->name));
        SHOT_TRY(shot_text_add_number(text, track->scale->offset));
        SHOT_TRY(shot_text_add_format(text, "%s,1FS:", track->unit));
        SHOT_TRY(shot_text_add_number(text, track->scale->offset + track->scale->slope));
        SHOT_TRY(shot_text_add(text, track->unit));
    }
    return SHOT_OK;
}

static shot_status add_mark_lines(const shot_table *shot, shot_head *head) {
    shot_text text = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < shot->marks.count && status == SHOT_OK; i++) {
        shot_text_clear(&text);
        status = shot_mark_write(&text, &shot->marks.marks[i]);
        if (status == SHOT_OK)
            status = shot_head_add_line(head, "mark", text.bytes);
    }
    shot_text_free(&text);
    return status;
}

/* Lines, marks and channels of what was recorded. */
static shot_status make_head(const recording_sink *self, const shot_recorded *recorded, bool marks,
                             shot_head *head) {
    shot_text scales = {0};
    shot_status status = shot_head_set_name(head, self->shot.head.name);
    for (size_t i = 0; i < self->shot.head.line_count && status == SHOT_OK; i++)
        status =
            shot_head_add_line(head, self->shot.head.lines[i].key, self->shot.head.lines[i].value);
    if (status == SHOT_OK && recorded->resampled)
        status = shot_head_add_line(head, "history", self->history);
    if (status == SHOT_OK)
        status = add_scales(recorded, &scales);
    if (status == SHOT_OK && scales.length > 0)
        status = shot_head_add_line(head, SHOT_SCALE_KEY, scales.bytes);
    if (status == SHOT_OK && marks)
        status = add_mark_lines(&self->shot, head);
    if (status == SHOT_OK)
        status = shot_head_add_channel(head, "time", "s");
    for (size_t c = 0; c < recorded->count && status == SHOT_OK; c++)
        status = shot_head_add_channel(head, recorded->tracks[c].channel->name,
                                       recorded->tracks[c].unit);
    shot_text_free(&scales);
    return status;
}

static shot_status make_comment(const recording_sink *self, const shot_recorded *recorded,
                                bool marks, shot_text *comment) {
    shot_head head = {0};
    shot_text_clear(comment);
    shot_status status = make_head(self, recorded, marks, &head);
    if (status == SHOT_OK)
        status = shot_head_write(comment, &head);
    shot_head_free(&head);
    return status;
}

static bool fits(const recording_sink *self, const shot_text *comment) {
    return strlen(self->shot.head.name) + comment->length <= self->words;
}

/* All that the shot bears; or that without its marks, or nothing, where there is no room for more:
 * what is left out is counted.  *words is NULL for nothing. */
static shot_status make_words(recording_sink *self, const shot_recorded *recorded,
                              shot_text *comment, const char **words) {
    SHOT_TRY(make_comment(self, recorded, true, comment));
    *words = comment->bytes;
    if (fits(self, comment))
        return SHOT_OK;
    self->wordless++;
    self->marks += self->shot.marks.count;
    SHOT_TRY(make_comment(self, recorded, false, comment));
    *words = comment->bytes;
    if (fits(self, comment))
        return SHOT_OK;
    self->tracks += recorded->count;
    self->lines += self->shot.head.line_count;
    *words = NULL;
    return SHOT_OK;
}

/* --------------------------------------------------------------------------- a shot ----------- */

static shot_status encode(recording_sink *self, const shot_recorded *recorded, const char *comment,
                          shot_text *bytes, shot_error *error) {
    const double **tracks = malloc((recorded->count + 1) * sizeof *tracks);
    if (tracks == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 0; c < recorded->count; c++)
        tracks[c] = recorded->tracks[c].samples;
    shot_recording_plan plan = self->plan;
    plan.rate = recorded->rate;
    plan.tracks = recorded->count;
    plan.frames = recorded->frames;
    plan.title = self->shot.head.name;
    plan.comment = comment;
    shot_status status = shot_recording_encode(&plan, tracks, bytes, error);
    free(tracks);
    return status;
}

/* The first row becomes time 0 of the recording: marks and the log's own clock follow. */
static shot_status move_origin(recording_sink *self, double start, shot_error *error) {
    if (start == 0)
        return SHOT_OK;
    shot_status status = time_origin_move(&self->shot, start);
    if (status == SHOT_OK || status == SHOT_ERR_MEMORY)
        return status;
    return shot_fail(error, SHOT_ERR_DATA, "'%.80s' has a clock that cannot be moved by %g s",
                     self->shot.head.name, start);
}

static shot_status write_shot(recording_sink *self, shot_error *error) {
    shot_recorded recorded;
    shot_text comment = {0}, bytes = {0};
    const char *words = NULL;
    shot_status status = shot_recorded_make(&self->shot, self->settings, &self->scales,
                                            shot_recording_bits(&self->plan), &recorded, error);
    if (status == SHOT_OK)
        status = move_origin(self, recorded.start, error);
    if (status == SHOT_OK)
        status = make_words(self, &recorded, &comment, &words);
    if (status == SHOT_OK)
        status = encode(self, &recorded, words, &bytes, error);
    if (status == SHOT_OK)
        status = shot_recording_files_write(&self->files, self->shot.head.name, &bytes, error);
    shot_recorded_free(&recorded);
    shot_text_free(&comment);
    shot_text_free(&bytes);
    return status;
}

/* ------------------------------------------------------------------------------ sink ---------- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    recording_sink *self = (recording_sink *)sink;
    SHOT_TRY(shot_recording_files_check(&self->files, head->name, error));
    return checked(shot_table_begin(&self->shot, head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(&((recording_sink *)sink)->shot, block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(&((recording_sink *)sink)->shot, one), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(&((recording_sink *)sink)->shot, one), error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    return checked(write_shot((recording_sink *)sink, error), error);
}

static void tell_left_out(const recording_sink *self) {
    if (self->words == 0)
        shot_notice_say(
            &self->notice,
            "%s has no place for words: left out are names and units of %zu track%s, "
            "%zu mark%s and %zu line%s of metadata; wav, rf64, flac, aiff and caf have one",
            self->plan.container, self->tracks, shot_plural(self->tracks), self->marks,
            shot_plural(self->marks), self->lines, shot_plural(self->lines));
    else if (self->tracks == 0)
        shot_notice_say(&self->notice,
                        "%s has a place for %zu bytes of words a shot: %zu mark%s left out; flac "
                        "holds 16 MB",
                        self->plan.container, self->words, self->marks,
                        self->marks == 1 ? " is" : "s are");
    else
        shot_notice_say(&self->notice,
                        "%s has a place for %zu bytes of words a shot: left out are names and "
                        "units of %zu track%s, %zu mark%s and %zu line%s of metadata; flac holds "
                        "16 MB",
                        self->plan.container, self->words, self->tracks, shot_plural(self->tracks),
                        self->marks, shot_plural(self->marks), self->lines,
                        shot_plural(self->lines));
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    recording_sink *self = (recording_sink *)sink;
    if (self->wordless > 0)
        tell_left_out(self);
    return SHOT_OK;
}

static void release(shot_sink *sink) {
    recording_sink *self = (recording_sink *)sink;
    shot_scales_free(&self->scales);
    shot_recording_files_free(&self->files);
    shot_table_free(&self->shot);
    free(self);
}

static const shot_sink_calls calls = {begin, rows, mark, line, end, NULL, close, release};

shot_status shot_write_recording_new(const shot_making *making, shot_sink **out,
                                     shot_error *error) {
    recording_sink *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    self->sink.calls = &calls;
    self->settings = making->settings;
    self->notice = making->notice;
    self->history = making->history;
    self->plan.container = shot_write_format_name(shot_write_format_of(self->settings));
    self->words = shot_recording_words(self->plan.container);
    self->plan.samples = shot_write_samples(self->settings);
    const char *output = self->settings->output;
    self->files.pattern = output != NULL && strcmp(output, "-") != 0 ? output : NULL;
    self->files.output = making->output;
    shot_status status =
        shot_scales_read(&self->settings->scale, self->settings->full_scale, &self->scales, error);
    if (status == SHOT_OK)
        *out = &self->sink;
    else
        release(&self->sink);
    return status;
}
