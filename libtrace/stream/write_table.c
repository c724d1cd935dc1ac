/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All shots of a stream as one tidy table. */
#include "stream/write_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/log_time.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/quoting.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "stream/head_text.h"
#include "stream/write_settings.h"
#include "stream/write_units.h"
#include "plain_format.h"

enum { FLUSH_AT = 64 * 1024 };

/* A column of the table, and where the shot at hand has it. */
typedef struct column {
    shot_channel channel; /* owned; the unit is that of the table */
    ptrdiff_t source;     /* column of the shot; -1: it has none */
    bool converts;
    shot_conversion conversion;
} column;

typedef struct table_sink {
    shot_sink sink;
    const struct shot_write_settings *settings;
    const shot_output *output;
    shot_notice notice;
    char separator;
    column *columns; /* the first is time */
    size_t count;
    bool headed;
    shot_text text;
    shot_text name; /* of the shot, as a field */
    bool has_origin;
    shot_decimal origin;
    size_t marks, lines; /* that a table has no place for */
} table_sink;

static shot_status flush(table_sink *self, shot_error *error) {
    return shot_output_flush(self->output, &self->text, error);
}

static shot_status out_of_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the table");
}

/* As RFC 4180 quotes, whatever the separator. */
static shot_status add_field(const table_sink *self, shot_text *text, const char *value) {
    if (self->separator == ',')
        return shot_text_add_csv(text, value);
    if (strpbrk(value, "\t\"\r\n") == NULL)
        return shot_text_add(text, value);
    SHOT_TRY(shot_text_add(text, "\""));
    for (const char *c = value; *c != '\0'; c++) {
        SHOT_TRY(shot_text_add_bytes(text, c, 1));
        if (*c == '"')
            SHOT_TRY(shot_text_add(text, "\""));
    }
    return shot_text_add(text, "\"");
}

/* --------------------------------------------------------------------------------- columns --- */

static shot_status add_column(table_sink *self, const char *name, const char *unit) {
    column *columns = realloc(self->columns, (self->count + 1) * sizeof *columns);
    if (columns == NULL)
        return SHOT_ERR_MEMORY;
    self->columns = columns;
    unit = shot_write_unit(&self->settings->unit, name, unit);
    columns[self->count] = (column){.channel = {shot_text_copy(name), shot_text_copy(unit)}};
    self->count++;
    return columns[self->count - 1].channel.name != NULL &&
                   columns[self->count - 1].channel.unit != NULL
               ? SHOT_OK
               : SHOT_ERR_MEMORY;
}

/* The columns are those that were said, or those of the first shot. */
static shot_status choose_columns(table_sink *self, const shot_head *head, shot_error *error) {
    const shot_texts *said = &self->settings->channel;
    SHOT_TRY(add_column(self, "time", head->channels[0].unit));
    for (size_t i = 0; i < said->count; i++) {
        const ptrdiff_t at = shot_head_channel(head, said->items[i]);
        const shot_channel_kind *kind = shot_channel_kind_of(said->items[i]);
        if (at < 0 && kind == NULL)
            return shot_fail(error, SHOT_ERR_DATA,
                             "--channel: the first shot, '%.80s', has no "
                             "channel '%.60s', which would tell its unit",
                             head->name, said->items[i]);
        if (at != 0)
            SHOT_TRY(
                add_column(self, said->items[i], at > 0 ? head->channels[at].unit : kind->unit));
    }
    for (size_t i = 1; i < head->channel_count && said->count == 0; i++)
        SHOT_TRY(add_column(self, head->channels[i].name, head->channels[i].unit));
    return SHOT_OK;
}

static shot_status add_header(table_sink *self) {
    shot_text title = {0};
    shot_status status = shot_text_add(&self->text, "shot");
    for (size_t i = 0; i < self->count && status == SHOT_OK; i++) {
        shot_text_clear(&title);
        const shot_channel *channel = &self->columns[i].channel;
        status = self->settings->titles == 1 ? shot_text_add(&title, channel->name)
                                             : shot_title_write(&title, channel);
        if (status == SHOT_OK)
            status = shot_text_add_bytes(&self->text, &self->separator, 1);
        if (status == SHOT_OK)
            status = add_field(self, &self->text, title.bytes);
    }
    shot_text_free(&title);
    return status == SHOT_OK ? shot_text_add(&self->text, "\n") : status;
}

/* Shots mostly have the channels of the table at the same places: those are looked at first, since
 * there may be a million. */
static ptrdiff_t channel_of(const shot_head *head, size_t place, const char *name) {
    return place < head->channel_count && strcmp(head->channels[place].name, name) == 0
               ? (ptrdiff_t)place
               : shot_head_channel(head, name);
}

static const column *column_of(const table_sink *self, size_t place, const char *channel) {
    if (place < self->count && strcmp(self->columns[place].channel.name, channel) == 0)
        return &self->columns[place];
    for (size_t i = 0; i < self->count; i++)
        if (strcmp(self->columns[i].channel.name, channel) == 0)
            return &self->columns[i];
    return NULL;
}

/* Where this shot has the columns; one that has more than the table loses nothing silently. */
static shot_status find_columns(table_sink *self, const shot_head *head, shot_error *error) {
    for (size_t i = 0; i < self->count; i++) {
        column *c = &self->columns[i];
        c->source = channel_of(head, i, c->channel.name);
        if (c->source < 0 && self->settings->channel.count > 0)
            shot_notice_say(&self->notice,
                            "shot '%.80s' has no channel '%.60s': its column is empty", head->name,
                            c->channel.name);
        c->converts =
            c->source >= 0 && strcmp(head->channels[c->source].unit, c->channel.unit) != 0;
        if (c->converts)
            SHOT_TRY(shot_write_conversion(&head->channels[c->source], c->channel.unit,
                                           &c->conversion, error));
    }
    for (size_t i = 0; i < head->channel_count && self->settings->channel.count == 0; i++)
        if (column_of(self, i, head->channels[i].name) == NULL)
            return shot_fail(
                error, SHOT_ERR_DATA,
                "shot '%.80s' has the channel '%.60s', for which the table, made by the "
                "first shot, has no column; choose columns with --channel, or say "
                "--format json",
                head->name, head->channels[i].name);
    return SHOT_OK;
}

static shot_status set_origin(table_sink *self, const shot_head *head, shot_error *error) {
    const char *origin = shot_head_origin(head);
    self->has_origin = strcmp(origin, "0") != 0;
    return shot_log_time_origin(head, &self->origin, error);
}

/* Lines that are no loss: the origin is in the clock, and which filters a shot went through is for
 * filters to know. */
static bool has_place(const char *key) {
    return key != NULL && (strcmp(key, "t0") == 0 || strcmp(key, "history") == 0);
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    table_sink *self = (table_sink *)sink;
    shot_status status = SHOT_OK;
    if (!self->headed) {
        self->headed = true;
        status = choose_columns(self, head, error);
        if (status == SHOT_OK)
            status = add_header(self);
    }
    if (status == SHOT_OK)
        status = find_columns(self, head, error);
    shot_text_clear(&self->name);
    if (status == SHOT_OK)
        status = add_field(self, &self->name, head->name);
    for (size_t i = 0; i < head->line_count; i++)
        self->lines += !has_place(head->lines[i].key);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(error);
    return status == SHOT_OK ? set_origin(self, head, error) : status;
}

/* ------------------------------------------------------------------------------------ rows --- */

/* The log's own clock, exactly. */
static shot_status add_clock(table_sink *self, double time, shot_error *error) {
    shot_decimal clock;
    if (shot_decimal_from(time, &clock) != SHOT_OK ||
        shot_decimal_add(&clock, &self->origin) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_DATA, "the time %g s is no place on the log's clock",
                         time);
    if (shot_text_reserve(&self->text, SHOT_DECIMAL_ROOM) != SHOT_OK)
        return out_of_memory(error);
    self->text.length += shot_decimal_write(self->text.bytes + self->text.length, &clock);
    return SHOT_OK;
}

static void add_value(table_sink *self, const column *c, const shot_block *block, size_t row) {
    double value = c->source >= 0 ? block->column[c->source][row] : NAN;
    if (c->converts)
        value = shot_conversion_apply(&c->conversion, value);
    self->text.length += shot_number_write(self->text.bytes + self->text.length, value);
}

static shot_status add_row(table_sink *self, const shot_block *block, size_t row,
                           shot_error *error) {
    size_t room = self->name.length + self->count * (SHOT_NUMBER_ROOM + 1) + 2;
    if (shot_text_add_bytes(&self->text, self->name.bytes, self->name.length) != SHOT_OK ||
        shot_text_reserve(&self->text, room + SHOT_DECIMAL_ROOM) != SHOT_OK)
        return out_of_memory(error);
    for (size_t i = 0; i < self->count; i++) {
        self->text.bytes[self->text.length++] = self->separator;
        if (i == 0 && self->has_origin && !self->columns[0].converts) {
            SHOT_TRY(add_clock(self, block->column[0][row], error));
            shot_text_reserve(&self->text, room);
        } else {
            add_value(self, &self->columns[i], block, row);
        }
    }
    self->text.bytes[self->text.length++] = '\n';
    return SHOT_OK;
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    table_sink *self = (table_sink *)sink;
    for (size_t row = 0; row < block->rows; row++) {
        SHOT_TRY(add_row(self, block, row, error));
        if (self->text.length >= FLUSH_AT)
            SHOT_TRY(flush(self, error));
    }
    return SHOT_OK;
}

/* ------------------------------------------------------------------- what has no place -------- */

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    ((table_sink *)sink)->marks++;
    return SHOT_OK;
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    ((table_sink *)sink)->lines += !has_place(one->key);
    return SHOT_OK;
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return flush((table_sink *)sink, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    table_sink *self = (table_sink *)sink;
    if (self->marks + self->lines > 0)
        shot_notice_say(&self->notice,
                        "%zu mark%s and %zu line%s of metadata are left out: a table has no place "
                        "for them; --format json has",
                        self->marks, shot_plural(self->marks), self->lines,
                        shot_plural(self->lines));
    return flush(self, error);
}

static void release(shot_sink *sink) {
    table_sink *self = (table_sink *)sink;
    for (size_t i = 0; i < self->count; i++) {
        free(self->columns[i].channel.name);
        free(self->columns[i].channel.unit);
    }
    free(self->columns);
    shot_text_free(&self->text);
    shot_text_free(&self->name);
    free(self);
}

static const shot_sink_calls calls = {begin, rows, mark, line, NULL, pause, close, release};

shot_status shot_write_table_new(const shot_making *making, shot_sink **out, shot_error *error) {
    table_sink *self = calloc(1, sizeof *self);
    *out = self != NULL ? &self->sink : NULL;
    if (self == NULL)
        return out_of_memory(error);
    self->sink.calls = &calls;
    self->settings = making->settings;
    self->output = making->output;
    self->notice = making->notice;
    self->separator = self->settings->format == SHOT_WRITE_TSV ? '\t' : ',';
    return SHOT_OK;
}
