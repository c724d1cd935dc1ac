/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The source of foreign logs: bytes are unpacked, decoded, and given to the reader of their form.
 */
#include <shottrace/stream/read.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "recording/recording_form.h"
#include "stream/foreign_blocks.h"
#include "stream/foreign_delimited.h"
#include "stream/foreign_json.h"
#include "stream/foreign_long.h"
#include "stream/foreign_recording.h"
#include "stream/foreign_table.h"
#include "stream/other_form.h"
#include "stream/read_settings.h"
#include "stream/read_unused.h"
#include "stream/text_encoding.h"
#include "stream/unpack.h"
#include "plain_format.h"

typedef struct read_source {
    shot_source source;
    const struct shot_read_settings *settings;
    shot_notice notice;
    shot_foreign_table *table;
    shot_table_target *target;             /* what the file's form drives: the table or */
    shot_table_target *blocks, *long_form; /* what mends its shape before it */
    bool go_on;
    bool failed;   /* no more of this file is read */
    unsigned told; /* forms of which was told which options they have no use for */

    char *file; /* the one that is read, and what reads it; NULL between files */
    bool has_bytes;
    shot_unpacker *unpacker;
    shot_decoder *decoder;
    shot_text start;           /* blanks before the first sign, which tells the form */
    shot_delimited *delimited; /* one of the two reads the text */
    shot_foreign_json *json;

    char opening[SHOT_RECORDING_OPENING]; /* first bytes, until they are text or a recording */
    size_t opened;
    bool is_text;
    shot_foreign_recording *recording; /* reads the bytes if they are none */
} read_source;

/* ------------------------------------------------------------------------------------ files -- */

static shot_status push_text(read_source *self, const char *bytes, size_t count,
                             shot_error *error) {
    return self->json != NULL ? shot_foreign_json_push(self->json, bytes, count, error)
                              : shot_delimited_push(self->delimited, bytes, count, error);
}

/* A person who says something should know that it was not heard: once, not for each file. */
static shot_status tell_unused(read_source *self, shot_read_form form) {
    static const char *const words[] = {[SHOT_READ_TABLE] = "a table of text",
                                        [SHOT_READ_JSON] = "JSON",
                                        [SHOT_READ_RECORDING] = "a recording"};
    shot_text names = {0};
    if (self->told & form)
        return SHOT_OK;
    self->told |= form;
    const shot_status status = shot_read_unused(self->settings, form, &names);
    if (status == SHOT_OK && names.length > 0)
        shot_notice_say(&self->notice, "%s: this is %s, which has no use for %s", self->file,
                        words[form], names.bytes);
    shot_text_free(&names);
    return status;
}

/* The first sign is there: text that starts with a brace or a bracket is JSON. */
static shot_status choose_form(read_source *self, char first, shot_error *error) {
    shot_table_target *target = self->target;
    const bool json = first == '{' || first == '[';
    if (first != '\0')
        SHOT_TRY(tell_unused(self, json ? SHOT_READ_JSON : SHOT_READ_TABLE));
    shot_status status =
        json ? shot_foreign_json_new(self->settings, self->table, target, &self->json)
             : shot_delimited_new(self->settings, &self->notice, self->table, target, self->file,
                                  &self->delimited);
    if (status == SHOT_OK && self->start.length > 0)
        status = push_text(self, self->start.bytes, self->start.length, error);
    shot_text_free(&self->start);
    return status;
}

static shot_status take_text(void *user, const char *bytes, size_t count, shot_error *error) {
    read_source *self = user;
    size_t blanks = 0;
    if (self->json == NULL && self->delimited == NULL) {
        while (blanks < count && strchr(" \t\r\n", bytes[blanks]) != NULL && bytes[blanks] != '\0')
            blanks++;
        SHOT_TRY(shot_text_add_bytes(&self->start, bytes, blanks));
        if (blanks < count)
            SHOT_TRY(choose_form(self, bytes[blanks], error));
    }
    return blanks < count ? push_text(self, bytes + blanks, count - blanks, error) : SHOT_OK;
}

/* Text of blanks alone has no form. */
static shot_status finish_text(read_source *self, bool cut, shot_error *error) {
    if (self->json == NULL && self->delimited == NULL)
        SHOT_TRY(choose_form(self, '\0', error));
    return self->json != NULL ? shot_foreign_json_finish(self->json, error)
                              : shot_delimited_finish(self->delimited, cut, error);
}

/* Bytes without their packing go to the reader of recordings, or become text. */
static shot_status push_plain(read_source *self, const char *bytes, size_t count,
                              shot_error *error) {
    if (count == 0)
        return SHOT_OK;
    return self->is_text ? shot_decoder_push(self->decoder, bytes, count, error)
                         : shot_foreign_recording_push(self->recording, bytes, count, error);
}

/* The first bytes tell which; those that were held go on. */
static shot_status settle_opening(read_source *self, const char *form, shot_error *error) {
    self->is_text = form == NULL;
    if (form != NULL) {
        SHOT_TRY(tell_unused(self, SHOT_READ_RECORDING));
        SHOT_TRY(shot_foreign_recording_new(self->settings, self->table, self->target, form,
                                            &self->recording, error));
    }
    return push_plain(self, self->opening, self->opened, error);
}

static shot_status refuse_other_form(read_source *self, bool *perhaps, shot_error *error) {
    const char *words = shot_other_form(self->opening, self->opened, perhaps);
    return words == NULL ? SHOT_OK : shot_fail(error, SHOT_ERR_DATA, "this is %s", words);
}

static shot_status take_plain(void *user, const char *bytes, size_t count, shot_error *error) {
    read_source *self = user;
    while (!self->is_text && self->recording == NULL && count > 0) {
        const char *form = "samples without a header, as --raw says";
        self->opening[self->opened++] = *bytes++;
        count--;
        bool perhaps = false;
        const bool raw = self->settings->raw != NULL;
        if (!raw)
            SHOT_TRY(refuse_other_form(self, &perhaps, error));
        if (raw ||
            (shot_recording_form(self->opening, self->opened, &form) != SHOT_RECORDING_PERHAPS &&
             !perhaps))
            SHOT_TRY(settle_opening(self, form, error));
    }
    return push_plain(self, bytes, count, error);
}

/* What is held back of the plain bytes, whatever they are. */
static shot_status finish_plain(read_source *self, bool cut, shot_error *error) {
    if (self->recording != NULL)
        return shot_foreign_recording_finish(self->recording, cut, error);
    if (!self->is_text)
        SHOT_TRY(settle_opening(self, NULL, error));
    SHOT_TRY(shot_decoder_finish(self->decoder, error));
    size_t losses = shot_decoder_losses(self->decoder);
    if (losses > 0) {
        char text[100];
        snprintf(text, sizeof text, "%zu character%s could not be decoded; say --encoding", losses,
                 shot_plural(losses));
        shot_foreign_table_lose(self->table, text);
    }
    return finish_text(self, cut, error);
}

static void close_file(read_source *self) {
    shot_unpacker_free(self->unpacker);
    shot_decoder_free(self->decoder);
    shot_delimited_free(self->delimited);
    shot_foreign_json_free(self->json);
    shot_foreign_recording_free(self->recording);
    shot_text_free(&self->start);
    self->unpacker = NULL;
    self->decoder = NULL;
    self->delimited = NULL;
    self->json = NULL;
    self->recording = NULL;
    self->is_text = false;
    self->opened = 0;
}

static shot_status open_file(read_source *self, const char *name, shot_error *error) {
    char *copy = shot_text_copy(name);
    if (copy == NULL)
        return SHOT_ERR_MEMORY;
    char *before = self->file; /* the table has something to tell of it */
    self->file = copy;
    self->has_bytes = false;
    const shot_status status = shot_foreign_table_file(self->table, copy);
    free(before);
    SHOT_TRY(status);
    SHOT_TRY(shot_unpacker_new(self->settings->ratio, take_plain, self, &self->unpacker));
    return shot_decoder_new(self->settings->encoding, take_text, self, &self->decoder, error);
}

static shot_status explain_bytes(read_source *self) {
    shot_text reasons = {0};
    const char *form = shot_unpacker_form(self->unpacker);
    shot_status status = SHOT_OK;
    if (form != NULL)
        status = shot_text_add_format(&reasons, "compression: %s, by its first bytes\n", form);
    if (status == SHOT_OK && self->is_text)
        status = shot_text_add(&reasons, shot_decoder_reason(self->decoder));
    if (status == SHOT_OK)
        shot_foreign_table_explain(self->table, &reasons);
    shot_text_free(&reasons);
    return status;
}

/* What the file holds back, and what was lost on the way. */
static shot_status end_file(read_source *self, shot_error *error) {
    if (!self->has_bytes)
        return shot_fail_no_bytes(self->file, error);
    shot_error damage = {0};
    const bool cut = shot_unpacker_finish(self->unpacker, &damage) != SHOT_OK;
    if (cut)
        shot_foreign_table_cut(self->table);
    SHOT_TRY(finish_plain(self, cut, error));
    SHOT_TRY(explain_bytes(self));
    return cut ? shot_fail(error, damage.code, "%s", damage.what) : SHOT_OK;
}

/* ---------------------------------------------------------------------------------- source --- */

/* A failure that is not the sink's: the sink is told that what came is all. */
static shot_status settled(read_source *self, shot_status status, shot_error *error) {
    if (status == SHOT_OK || self->failed)
        return status;
    self->failed = true;
    if (status == SHOT_ERR_MEMORY && error != NULL && error->what[0] == '\0')
        shot_fail(error, status, "out of memory");
    if (error != NULL && error->source[0] == '\0' && status != SHOT_ERR_USAGE &&
        status != SHOT_ERR_WRITE && status != SHOT_ERR_CLOSED && self->file != NULL)
        snprintf(error->source, sizeof error->source, "%s", self->file);
    shot_foreign_table_abandon(self->table, self->go_on);
    return status;
}

static shot_status file(shot_source *source, const char *name, shot_error *error) {
    read_source *self = (read_source *)source;
    if (self->unpacker != NULL && !self->failed)
        SHOT_TRY(settled(self, end_file(self, error), error));
    close_file(self);
    self->failed = false;
    return settled(self, open_file(self, name, error), error);
}

static shot_status push(shot_source *source, const char *bytes, size_t count, shot_error *error) {
    read_source *self = (read_source *)source;
    if (self->failed)
        return SHOT_OK;
    if (self->unpacker == NULL)
        SHOT_TRY(file(source, "-", error));
    self->has_bytes = self->has_bytes || count > 0;
    return settled(self, shot_unpacker_push(self->unpacker, bytes, count, error), error);
}

static shot_status pause(shot_source *source, shot_error *error) {
    read_source *self = (read_source *)source;
    return settled(self, shot_foreign_table_pause(self->table, error), error);
}

static shot_status finish(shot_source *source, shot_error *error) {
    read_source *self = (read_source *)source;
    if (self->unpacker == NULL && !self->failed)
        SHOT_TRY(file(source, "-", error));
    shot_status status = self->failed ? SHOT_OK : settled(self, end_file(self, error), error);
    if (status == SHOT_OK)
        return shot_foreign_table_finish(self->table, error);
    if (self->go_on) /* else the sink was closed already */
        shot_foreign_table_finish(self->table, NULL);
    return status;
}

static shot_status file_end(shot_source *source, bool lost, shot_error *error) {
    read_source *self = (read_source *)source;
    if (lost)
        settled(self, SHOT_ERR_READ, NULL);
    if (!self->failed)
        SHOT_TRY(settled(self, end_file(self, error), error));
    close_file(self);
    self->failed = true; /* nothing more of it */
    return SHOT_OK;
}

static void release(shot_source *source) {
    read_source *self = (read_source *)source;
    close_file(self);
    free(self->file);
    if (self->blocks != NULL)
        self->blocks->calls->free(self->blocks);
    if (self->long_form != NULL)
        self->long_form->calls->free(self->long_form);
    shot_foreign_table_free(self->table);
    free(self);
}

static const shot_source_calls calls = {file, push, pause, finish, release, file_end};

/* Blocks of columns are recognised; the long form is said. */
static shot_status make_shape(read_source *self, shot_error *error) {
    const struct shot_read_settings *said = self->settings;
    self->target = shot_foreign_table_target(self->table);
    if (said->name_column != NULL && said->value_column == NULL)
        return shot_fail(error, SHOT_ERR_USAGE, "--name-column: give --value-column too");
    shot_status status = SHOT_OK;
    if (said->name_column != NULL) {
        status = shot_foreign_long_new(said, self->table, self->target, &self->long_form);
        self->target = self->long_form;
    } else if (!said->literal) {
        status = shot_foreign_blocks_new(self->target, &self->blocks);
        self->target = self->blocks;
    }
    return status == SHOT_OK ? SHOT_OK : shot_fail(error, status, "out of memory for reading");
}

static shot_status make(const shot_making *making, shot_source **out, shot_error *error) {
    read_source *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for reading");
    self->source.calls = &calls;
    self->settings = making->settings;
    self->notice = making->notice;
    self->go_on = making->go_on;
    shot_status status = shot_foreign_table_new(making, &self->table, error);
    if (status == SHOT_OK)
        status = make_shape(self, error);
    if (status != SHOT_OK) {
        release(&self->source);
        return status;
    }
    *out = &self->source;
    return SHOT_OK;
}

/* ----------------------------------------------------------------------------- description --- */

static const char *const examples[] = {
    "shot-read day.csv | shot-clean | shot-segment | shot-report",
    "shot-read --map pressure=p1 --unit pressure=psi log.txt > shot.csv",
    "shot-read --scale pressure=0.5V:0bar,4.5V:16bar --full-scale 5V shot.wav",
    NULL,
};

/* Rows are held until the first ones tell what the columns are. */
static void latency(const void *settings, char *out, size_t room) {
    snprintf(out, room,
             "0 s, after the first 16 rows behind a new header, which are held until they are "
             "understood");
}

const shot_description shot_read = {
    .name = "read",
    .purpose = "turn a foreign log or a recording into a trace stream",
    .details =
        "Works out from the first lines what separates fields, the decimal mark, quotes, the row "
        "of titles and perhaps of units or the names beside the values, preamble and comments, "
        "encoding and compression (gzip, "
        "Zstandard); from titles the channels and units; from the first rows the clock: a number "
        "of any unit, minutes and seconds, a time of day (over midnight), a date and time (over a "
        "change of summer time), an epoch, a counter that begins anew. --explain says what it "
        "took for what, and why; options say otherwise.\n"
        "Values get the usual units; g/s and ml/s are never converted into each other, and an "
        "ounce is refused where it may be a mass or a volume. Columns of text become marks at "
        "their changes. A table whose latest row comes first is turned round; other times that "
        "repeat or fall pass as they are, for shot-clean; where the clock begins anew (it falls by "
        "more than 10 s, or to the start, and stays there) another shot "
        "begins.\n"
        "A recording (WAV, FLAC, AIFF, CAF, MAT-file ...) is told by its first bytes, scaled by "
        "two points, and brought down to the rate of a trace.\n"
        "A row that cannot be read is named with its line and column, counted and left out; the "
        "exit status is then 1.\n"
        "Nothing goes on before 16 rows came behind a new header: they tell what is text and what "
        "is a "
        "number, "
        "whatever "
        "options say. From then on each row passes at once.\n"
        "Tables of a row a sample and recordings pass through a window; of JSON with lists, of "
        "a row a reading and of blocks of columns a shot is held, and where the latest row comes "
        "first the whole table.",
    .examples = examples,
    .role = SHOT_ROLE_SOURCE,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_DISORDER | SHOT_TRAIT_PASSES_DISORDER,
    .settings_size = sizeof(struct shot_read_settings),
    .options = shot_read_options,
    .make_source = make,
    .latency = latency,
};
