/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording as a table. */
#include "stream/foreign_recording.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/fraction.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>

#include "lack_of_memory.h"
#include "recording/recording_form.h"
#include "recording/recording_reader.h"
#include "recording/recording_track.h"
#include "stream/head_text.h"
#include "stream/recording_scale.h"
#include "plain_format.h"

/* The numbers that the filters of all tracks may hold, and the phases between samples of which a
 * filter keeps weights. */
enum { MOST_WEIGHTS = 1 << 20, MOST_PHASES = 100 };

/* One channel of the trace. */
typedef struct column {
    shot_track track;
    shot_text title;
    double slope, offset; /* of its scale; 1 and 0 without one */
} column;

struct shot_foreign_recording {
    const struct shot_read_settings *settings;
    shot_foreign_table *table;
    shot_table_target *target;
    const char *form;
    shot_scales scales;
    shot_texts own_words; /* what the recording's own head says of scales, */
    shot_scales own_scales;
    shot_recording *recording;

    double rate; /* of the rows */
    uint64_t rows;
    column *columns;
    size_t count;
    shot_cell *cells; /* [count + 1], the first is time */
    shot_text line;   /* their texts */
    bool own_ends;    /* the head was a trace's, which says its own ends */
};

/* ---------------------------------------------------------------------------------- titles --- */

/* The scale that was said for a channel, or else the one that the recording itself states. */
static const shot_scale *scale_of(const shot_foreign_recording *self, const char *channel,
                                  size_t length) {
    const shot_scale *said = shot_scales_of(&self->scales, channel, length);
    return said != NULL ? said : shot_scales_of(&self->own_scales, channel, length);
}

/* The channel as the recording's own head has it; its unit is that of the scale, if there is one.
 */
static shot_status add_own_title(const shot_foreign_recording *self, const shot_channel *channel,
                                 shot_text *title) {
    if (scale_of(self, channel->name, strlen(channel->name)) != NULL)
        return shot_text_add(title, channel->name);
    return shot_title_write(title, channel);
}

/* The name of a track: said with --names, or the one that the recording's own head gives, or that
 * of its scale, or its number. */
static shot_status add_name(shot_foreign_recording *self, size_t track, const shot_head *head,
                            shot_text *title) {
    const shot_texts *names = &self->settings->names;
    if (track < names->count)
        return shot_text_add(title, names->items[track]);
    if (track + 1 < head->channel_count)
        return add_own_title(self, &head->channels[track + 1], title);
    if (names->count == 0 && track < self->scales.count)
        return shot_text_add_bytes(title, self->scales.items[track].channel,
                                   self->scales.items[track].channel_length);
    return shot_text_add_format(title, "track%zu", track + 1);
}

/* The name with the unit behind it: that of the scale, or "FS" for parts of full scale, which are
 * no pressure yet; none where the title bears one. */
static shot_status set_title(shot_foreign_recording *self, size_t track, bool fractions,
                             const shot_head *head, column *out) {
    SHOT_TRY(add_name(self, track, head, &out->title));
    const shot_scale *scale = scale_of(self, out->title.bytes, out->title.length);
    out->slope = scale != NULL ? scale->slope : 1;
    out->offset = scale != NULL ? scale->offset : 0;
    if (scale != NULL && *scale->unit != '\0')
        return shot_text_add_format(&out->title, " [%s]", scale->unit);
    if (scale == NULL && fractions && strchr(out->title.bytes, '[') == NULL)
        return shot_text_add(&out->title, " [FS]");
    return SHOT_OK;
}

/* A name or a scale for a track that is not there is a mistake, not a wish. */
static shot_status check_names(const shot_foreign_recording *self, shot_error *error) {
    if (self->settings->names.count > self->count)
        return shot_fail(error, SHOT_ERR_USAGE, "--names gives %zu names to %zu track%s",
                         self->settings->names.count, self->count, shot_plural(self->count));
    for (size_t i = 0; i < self->scales.count; i++) {
        const shot_scale *scale = &self->scales.items[i];
        bool found = false;
        for (size_t c = 0; c < self->count && !found; c++)
            found =
                strncmp(self->columns[c].title.bytes, scale->channel, scale->channel_length) == 0;
        if (!found)
            return shot_fail(
                error, SHOT_ERR_USAGE, "--scale: no track is named '%.*s'; name all with --names",
                scale->channel_length > 60 ? 60 : (int)scale->channel_length, scale->channel);
    }
    return SHOT_OK;
}

static shot_status say_header(shot_foreign_recording *self, shot_error *error) {
    self->cells[0] = (shot_cell){"time [s]", 8};
    for (size_t c = 0; c < self->count; c++)
        self->cells[c + 1] =
            (shot_cell){self->columns[c].title.bytes, self->columns[c].title.length};
    shot_record titles = {.cells = self->cells, .count = self->count + 1, .text = ""};
    return self->target->calls->header(self->target, &titles, NULL, error);
}

/* ----------------------------------------------------------------------------------- about --- */

static shot_status explain(shot_foreign_recording *self, const shot_recording_about *about) {
    shot_text reasons = {0};
    shot_status status = shot_text_add_format(
        &reasons, "recording: %s, %zu track%s at %g Hz, by its first bytes\nrows: %g a second%s\n",
        self->form, about->tracks, shot_plural(about->tracks), about->rate, self->rate,
        self->rate < about->rate ? ", less than the recording has; what would fold is filtered out"
                                 : "");
    if (status == SHOT_OK)
        shot_foreign_table_explain(self->table, &reasons);
    shot_text_free(&reasons);
    return status;
}

static shot_status make_columns(shot_foreign_recording *self, const shot_recording_about *about,
                                const shot_head *head) {
    self->columns = calloc(about->tracks, sizeof *self->columns);
    self->cells = calloc(about->tracks + 1, sizeof *self->cells);
    if (self->columns == NULL || self->cells == NULL)
        return SHOT_ERR_MEMORY;
    self->count = about->tracks;
    for (size_t c = 0; c < self->count; c++) {
        SHOT_TRY(shot_track_init(&self->columns[c].track, about->rate / self->rate));
        SHOT_TRY(set_title(self, c, about->fractions, head, &self->columns[c]));
    }
    return SHOT_OK;
}

/* Lines and marks that a trace left in the recording that was made of it. */
static shot_status tell_head(shot_foreign_recording *self, const shot_head *head,
                             shot_error *error) {
    if (head->name != NULL)
        SHOT_TRY(self->target->calls->line(self->target, "shot", head->name, error));
    for (size_t i = 0; i < head->line_count; i++)
        if (head->lines[i].key == NULL || strcmp(head->lines[i].key, SHOT_SCALE_KEY) != 0)
            SHOT_TRY(self->target->calls->line(self->target, head->lines[i].key,
                                               head->lines[i].value, error));
    return SHOT_OK;
}

static shot_status add_word(shot_texts *words, const char *text, size_t length) {
    char **more = realloc(words->items, (words->count + 1) * sizeof *more);
    if (more == NULL)
        return SHOT_ERR_MEMORY;
    words->items = more;
    words->items[words->count] = shot_text_copy_bytes(text, length);
    return words->items[words->count] != NULL ? (words->count++, SHOT_OK) : SHOT_ERR_MEMORY;
}

/* What samples stand for, as shot-write leaves it.  What is no scale says nothing. */
static shot_status read_own_scales(shot_foreign_recording *self, const shot_head *head) {
    const char *text = shot_head_value(head, SHOT_SCALE_KEY);
    for (size_t length; text != NULL && *text != '\0'; text += length + (text[length] == ',')) {
        length = strcspn(text, ",");
        SHOT_TRY(add_word(&self->own_words, text, length));
    }
    shot_status status = shot_scales_read(&self->own_words, NAN, &self->own_scales, NULL);
    if (status == SHOT_OK || status == SHOT_ERR_MEMORY)
        return status;
    shot_scales_free(&self->own_scales);
    return SHOT_OK;
}

static shot_status begin(shot_foreign_recording *self, const shot_recording_about *about,
                         const shot_head *head, shot_error *error) {
    SHOT_TRY(read_own_scales(self, head));
    SHOT_TRY(make_columns(self, about, head));
    SHOT_TRY(check_names(self, error));
    SHOT_TRY(explain(self, about));
    SHOT_TRY(tell_head(self, head, error));
    self->own_ends = head->channel_count > 0;
    return say_header(self, error);
}

/* True if filters for that fall of the rate take bounded memory: a whole ratio goes in two steps,
 * any other needs as many weights as the header of the kernel says (signal/bandlimited.h). */
static bool is_small(double ratio, size_t tracks) {
    shot_fraction fraction = shot_fraction_of(ratio, MOST_PHASES);
    double phases = fraction.under > 0 ? (double)fraction.under : MOST_PHASES;
    return fraction.under == 1 || 320 * ratio * phases * (double)tracks <= MOST_WEIGHTS;
}

/* The rate of the rows.  Where nobody said one, the nearest that goes into the recording's a whole
 * number of times will do if the usual one is costly. */
static shot_status settle_rate(shot_foreign_recording *self, const shot_recording_about *about,
                               bool was_trace, shot_error *error) {
    double wanted = self->settings->trace_rate;
    bool said = !isnan(wanted);
    if (!said) /* one that was a trace is at its rate already */
        wanted = was_trace ? about->rate : SHOT_TRACE_RATE;
    self->rate = wanted < about->rate ? wanted : about->rate;
    if (is_small(about->rate / self->rate, about->tracks))
        return SHOT_OK;
    double whole = ceil(about->rate / self->rate);
    if (said)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--trace-rate: to come down from %g to %g Hz, no whole ratio, takes too "
                         "much memory; say %.17g",
                         about->rate, wanted, about->rate / whole);
    self->rate = about->rate / whole;
    return SHOT_OK;
}

/* No value is made up between the samples: the rate only falls. */
static shot_status take_about(void *user, const shot_recording_about *about, shot_error *error) {
    shot_foreign_recording *self = user;
    shot_head head;
    shot_status status = shot_head_text_read(about->comment, &head);
    if (status == SHOT_OK)
        status = settle_rate(self, about, head.channel_count > 0, error);
    if (status == SHOT_OK)
        status = begin(self, about, &head, error);
    shot_head_free(&head);
    return lack_of_memory_named(status, "a recording", error);
}

/* ------------------------------------------------------------------------------------ rows --- */

static size_t rows_ready(const shot_foreign_recording *self) {
    size_t ready = self->columns[0].track.count;
    for (size_t c = 1; c < self->count; c++)
        ready = self->columns[c].track.count < ready ? self->columns[c].track.count : ready;
    return ready;
}

static shot_status add_cell(shot_foreign_recording *self, size_t cell, double value) {
    SHOT_TRY(shot_text_reserve(&self->line, SHOT_NUMBER_ROOM + 1));
    self->cells[cell].length = shot_number_write(self->line.bytes + self->line.length, value);
    self->line.length += self->cells[cell].length;
    return SHOT_OK;
}

static shot_status tell_row(shot_foreign_recording *self, size_t row, shot_error *error) {
    shot_text_clear(&self->line);
    SHOT_TRY(add_cell(self, 0, (double)self->rows++ / self->rate));
    for (size_t c = 0; c < self->count; c++) {
        const column *one = &self->columns[c];
        SHOT_TRY(add_cell(self, c + 1, one->offset + one->slope * one->track.out[row]));
    }
    for (size_t i = 0, at = 0; i <= self->count; at += self->cells[i++].length)
        self->cells[i].text = self->line.bytes + at;
    shot_record record = {.cells = self->cells,
                          .count = self->count + 1,
                          .text = self->line.bytes,
                          .length = self->line.length};
    return self->target->calls->row(self->target, &record, error);
}

static shot_status tell_rows(shot_foreign_recording *self, shot_error *error) {
    size_t ready = rows_ready(self);
    for (size_t row = 0; row < ready; row++)
        SHOT_TRY(tell_row(self, row, error));
    for (size_t c = 0; c < self->count; c++)
        shot_track_drop(&self->columns[c].track, ready);
    return SHOT_OK;
}

static shot_status take_frames(void *user, const double *frames, size_t count, shot_error *error) {
    shot_foreign_recording *self = user;
    for (size_t c = 0; c < self->count; c++)
        SHOT_TRY(shot_track_push(&self->columns[c].track, frames + c, count, self->count));
    return tell_rows(self, error);
}

/* ----------------------------------------------------------------------------------- whole --- */

/* "s16le:48000:2" */
static shot_status read_raw(const char *text, shot_text *form, shot_recording_raw *out,
                            shot_error *error) {
    const char *end = text + strlen(text), *colon = strchr(text, ':'), *after = NULL;
    double tracks = 1;
    if (colon != NULL)
        after = shot_number_read(colon + 1, end, &out->rate);
    if (after != NULL && end - after >= 2 && strncmp(after, "Hz", 2) == 0)
        after += 2;
    if (after != NULL && *after == ':')
        after = shot_number_read(after + 1, end, &tracks);
    if (after != end || !(tracks >= 1 && tracks <= 1e6))
        return shot_fail(
            error, SHOT_ERR_USAGE,
            "--raw: '%.60s' does not give a form, a rate and a number of tracks, as in "
            "s16le:48000:2",
            text);
    SHOT_TRY(shot_text_add_bytes(form, text, (size_t)(colon - text)));
    out->form = form->bytes;
    out->tracks = (size_t)tracks;
    return SHOT_OK;
}

static shot_status open_recording(shot_foreign_recording *self, shot_error *error) {
    const struct shot_read_settings *said = self->settings;
    const shot_recording_calls calls = {take_about, take_frames, self};
    shot_recording_raw raw = {.form = NULL};
    shot_text form = {0};
    shot_status status = SHOT_OK;
    if (strcmp(self->form, SHOT_RECORDING_LOSSY) == 0)
        return shot_fail(error, SHOT_ERR_DATA,
                         "MPEG audio keeps what ears hear, not what a gauge measured, and cannot "
                         "be read as it arrives; record WAV or FLAC");
    if (said->rate > 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "a recording knows its rate; --trace-rate chooses that of the rows");
    if (said->raw != NULL)
        status = read_raw(said->raw, &form, &raw, error);
    if (status == SHOT_OK)
        status = shot_scales_read(&said->scale, said->full_scale, &self->scales, error);
    if (status == SHOT_OK)
        status = shot_recording_new(&raw, &calls, &self->recording, error);
    shot_text_free(&form);
    return status;
}

shot_status shot_foreign_recording_new(const struct shot_read_settings *settings,
                                       shot_foreign_table *table, shot_table_target *target,
                                       const char *form, shot_foreign_recording **out,
                                       shot_error *error) {
    shot_foreign_recording *self = calloc(1, sizeof *self);
    *out = self;
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->settings = settings;
    self->table = table;
    self->target = target;
    self->form = form;
    shot_foreign_table_decimal(table, '.');
    shot_status status = open_recording(self, error);
    if (status != SHOT_OK) {
        shot_foreign_recording_free(self);
        *out = NULL;
    }
    return status;
}

shot_status shot_foreign_recording_push(shot_foreign_recording *self, const char *bytes,
                                        size_t count, shot_error *error) {
    return shot_recording_push(self->recording, bytes, count, error);
}

/* A trace that was written as a recording has the ends that the trace had. */
static shot_status say_ends(shot_foreign_recording *self, shot_error *error) {
    SHOT_TRY(self->target->calls->line(self->target, "end", "", error));
    return self->target->calls->line(self->target, "close", "", error);
}

/* Infinite samples are missing ones of the trace; that they were there is told. */
static void tell_infinities(shot_foreign_recording *self) {
    char text[160];
    for (size_t c = 0; c < self->count; c++)
        if (self->columns[c].track.infinite > 0) {
            snprintf(text, sizeof text, "infinite samples of track %zu that became missing: %.0f",
                     c + 1, (double)self->columns[c].track.infinite);
            shot_foreign_table_lose(self->table, text);
        }
}

shot_status shot_foreign_recording_finish(shot_foreign_recording *self, bool cut,
                                          shot_error *error) {
    shot_error damage = {0};
    SHOT_TRY(shot_recording_finish(self->recording, error));
    bool short_of_frames = shot_recording_shortfall(self->recording, &damage) != SHOT_OK;
    if (short_of_frames) {
        shot_foreign_table_cut(self->table);
        shot_foreign_table_lose(self->table, damage.what);
    }
    for (size_t c = 0; c < self->count; c++)
        SHOT_TRY(shot_track_finish(&self->columns[c].track));
    SHOT_TRY(tell_rows(self, error));
    tell_infinities(self);
    if (self->own_ends && !short_of_frames && !cut)
        SHOT_TRY(say_ends(self, error));
    return self->target->calls->end(self->target, error);
}

void shot_foreign_recording_free(shot_foreign_recording *self) {
    if (self == NULL)
        return;
    shot_recording_free(self->recording);
    shot_scales_free(&self->scales);
    shot_scales_free(&self->own_scales);
    for (size_t i = 0; i < self->own_words.count; i++)
        free(self->own_words.items[i]);
    free(self->own_words.items);
    for (size_t c = 0; c < self->count; c++) {
        shot_track_free(&self->columns[c].track);
        shot_text_free(&self->columns[c].title);
    }
    free(self->columns);
    free(self->cells);
    shot_text_free(&self->line);
    free(self);
}
