/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shot as one line of JSON. */
#include "stream/write_json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/block.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/quoting.h>
#include <shottrace/trace/stage.h>

#include "stream/head_text.h"
#include "stream/mark_fields.h"
#include "stream/write_settings.h"
#include "stream/write_units.h"

enum { FLUSH_AT = 64 * 1024 };

typedef struct json_sink {
    shot_sink sink;
    const struct shot_write_settings *settings;
    const shot_output *output;
    shot_head head; /* of the shot at hand, with the lines that came later */
    shot_rows rows;
    shot_mark_list marks;
    shot_text text;
} json_sink;

static shot_status out_of_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the JSON of a shot");
}

static shot_status flush(json_sink *self, shot_error *error) {
    return shot_output_flush(self->output, &self->text, error);
}

/* -------------------------------------------------------------------------------- metadata --- */

static bool same_key(const shot_line *a, const shot_line *b) {
    return a->key != NULL && b->key != NULL && strcmp(a->key, b->key) == 0;
}

static size_t count_key(const shot_head *head, size_t line, bool before) {
    size_t count = 0;
    for (size_t i = before ? 0 : line; i < (before ? line : head->line_count); i++)
        count += same_key(&head->lines[i], &head->lines[line]);
    return count;
}

/* The value of a key, or the list of its values. */
static shot_status add_values(shot_text *text, const shot_head *head, size_t line) {
    bool list = count_key(head, line, false) > 1;
    SHOT_TRY(shot_text_add_json(text, head->lines[line].key));
    SHOT_TRY(shot_text_add(text, list ? ":[" : ":"));
    SHOT_TRY(shot_text_add_json(text, head->lines[line].value));
    for (size_t i = line + 1; i < head->line_count && list; i++) {
        if (!same_key(&head->lines[i], &head->lines[line]))
            continue;
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_json(text, head->lines[i].value));
    }
    return list ? shot_text_add(text, "]") : SHOT_OK;
}

static shot_status add_metadata(shot_text *text, const shot_head *head) {
    bool any = false;
    SHOT_TRY(shot_text_add(text, ",\"metadata\":{"));
    for (size_t i = 0; i < head->line_count; i++) {
        if (head->lines[i].key == NULL || count_key(head, i, true) > 0)
            continue;
        SHOT_TRY(shot_text_add(text, any ? "," : ""));
        SHOT_TRY(add_values(text, head, i));
        any = true;
    }
    return shot_text_add(text, "}");
}

static shot_status add_comments(shot_text *text, const shot_head *head) {
    bool any = false;
    for (size_t i = 0; i < head->line_count; i++) {
        if (head->lines[i].key != NULL)
            continue;
        SHOT_TRY(shot_text_add(text, any ? "," : ",\"comments\":["));
        SHOT_TRY(shot_text_add_json(text, head->lines[i].value));
        any = true;
    }
    return any ? shot_text_add(text, "]") : SHOT_OK;
}

/* ------------------------------------------------------------------------------------ data --- */

static shot_status add_number(shot_text *text, double value) {
    return isfinite(value) ? shot_text_add_number(text, value) : shot_text_add(text, "null");
}

static shot_status add_column(json_sink *self, size_t column, shot_error *error) {
    const shot_channel *channel = &self->head.channels[column];
    const char *unit = shot_write_unit(&self->settings->unit, channel->name, channel->unit);
    const shot_channel wanted = {channel->name, (char *)unit};
    bool converts = strcmp(unit, channel->unit) != 0;
    shot_conversion conversion;
    shot_text title = {0};
    if (converts)
        SHOT_TRY(shot_write_conversion(channel, unit, &conversion, error));
    shot_status status = shot_title_write(&title, &wanted);
    if (status == SHOT_OK)
        status = shot_text_add_json(&self->text, title.bytes);
    shot_text_free(&title);
    SHOT_TRY(status);
    SHOT_TRY(shot_text_add(&self->text, ":["));
    for (size_t row = 0; row < self->rows.rows; row++) {
        double value = self->rows.column[column][row];
        SHOT_TRY(shot_text_add(&self->text, row > 0 ? "," : ""));
        SHOT_TRY(
            add_number(&self->text, converts ? shot_conversion_apply(&conversion, value) : value));
    }
    return shot_text_add(&self->text, "]");
}

static bool is_wanted(const json_sink *self, size_t column) {
    const shot_texts *said = &self->settings->channel;
    for (size_t i = 0; i < said->count; i++)
        if (strcmp(said->items[i], self->head.channels[column].name) == 0)
            return true;
    return said->count == 0 || column == 0;
}

static shot_status add_data(json_sink *self, shot_error *error) {
    SHOT_TRY(shot_text_add(&self->text, ",\"data\":{"));
    for (size_t c = 0; c < self->head.channel_count; c++) {
        if (!is_wanted(self, c))
            continue;
        SHOT_TRY(shot_text_add(&self->text, c > 0 ? "," : ""));
        SHOT_TRY(add_column(self, c, error));
    }
    return shot_text_add(&self->text, "}");
}

/* ----------------------------------------------------------------------------------- marks --- */

static bool has_extra(const shot_mark *mark, const char *key) {
    for (size_t i = 0; i < mark->extra_count; i++)
        if (strcmp(mark->extras[i].key, key) == 0)
            return true;
    return false;
}

/* A column of the marks, if any mark has it. */
static shot_status add_marks_column(json_sink *self, const char *key, bool number) {
    shot_text value = {0};
    shot_status status = shot_text_add_json(&self->text, key);
    if (status == SHOT_OK)
        status = shot_text_add(&self->text, ":[");
    for (size_t i = 0; i < self->marks.count && status == SHOT_OK; i++) {
        bool there;
        shot_text_clear(&value);
        status = shot_mark_field(&self->marks.marks[i], key, &value, &there);
        if (status == SHOT_OK && i > 0)
            status = shot_text_add(&self->text, ",");
        if (status == SHOT_OK && number)
            status = shot_text_add(&self->text, there ? value.bytes : "null");
        else if (status == SHOT_OK)
            status = shot_text_add_json(&self->text, there ? value.bytes : NULL);
    }
    shot_text_free(&value);
    return status == SHOT_OK ? shot_text_add(&self->text, "]") : status;
}

static bool any_has(const json_sink *self, const char *key) {
    shot_text value = {0};
    bool there = false;
    for (size_t i = 0; i < self->marks.count && !there; i++)
        if (shot_mark_field(&self->marks.marks[i], key, &value, &there) != SHOT_OK)
            break;
    shot_text_free(&value);
    return there;
}

/* Keys that the library does not know, each at its first mark. */
static shot_status add_extras(json_sink *self) {
    for (size_t i = 0; i < self->marks.count; i++)
        for (size_t k = 0; k < self->marks.marks[i].extra_count; k++) {
            const char *key = self->marks.marks[i].extras[k].key;
            bool before = false;
            for (size_t j = 0; j < i && !before; j++)
                before = has_extra(&self->marks.marks[j], key);
            if (before)
                continue;
            SHOT_TRY(shot_text_add(&self->text, ","));
            SHOT_TRY(add_marks_column(self, key, false));
        }
    return SHOT_OK;
}

static shot_status add_marks(json_sink *self) {
    bool number;
    if (self->marks.count == 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(&self->text, ",\"marks\":{"));
    SHOT_TRY(add_marks_column(self, "kind", false));
    for (size_t i = 0; shot_mark_field_name(i, &number) != NULL; i++) {
        const char *key = shot_mark_field_name(i, &number);
        if (!any_has(self, key))
            continue;
        SHOT_TRY(shot_text_add(&self->text, ","));
        SHOT_TRY(add_marks_column(self, key, number));
    }
    SHOT_TRY(add_extras(self));
    return shot_text_add(&self->text, "}");
}

/* ------------------------------------------------------------------------------------ sink --- */

static shot_status add_shot(json_sink *self, bool cut, shot_error *error) {
    SHOT_TRY(shot_text_add(&self->text, "{\"shot\":"));
    SHOT_TRY(shot_text_add_json(&self->text, self->head.name));
    SHOT_TRY(add_metadata(&self->text, &self->head));
    SHOT_TRY(add_comments(&self->text, &self->head));
    if (cut)
        SHOT_TRY(shot_text_add(&self->text, ",\"cut\":true"));
    SHOT_TRY(add_data(self, error));
    SHOT_TRY(add_marks(self));
    return shot_text_add(&self->text, "}\n");
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    json_sink *self = (json_sink *)sink;
    shot_head_free(&self->head);
    shot_rows_free(&self->rows);
    shot_mark_list_clear(&self->marks);
    return shot_head_copy(head, &self->head) == SHOT_OK &&
                   shot_rows_init(&self->rows, head->channel_count) == SHOT_OK
               ? SHOT_OK
               : out_of_memory(error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return shot_rows_append(&((json_sink *)sink)->rows, block) == SHOT_OK ? SHOT_OK
                                                                          : out_of_memory(error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return shot_mark_list_add(&((json_sink *)sink)->marks, one) == SHOT_OK ? SHOT_OK
                                                                           : out_of_memory(error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return shot_head_add_line(&((json_sink *)sink)->head, one->key, one->value) == SHOT_OK
               ? SHOT_OK
               : out_of_memory(error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    json_sink *self = (json_sink *)sink;
    shot_status status = add_shot(self, cut, error);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(error);
    SHOT_TRY(status);
    return self->text.length >= FLUSH_AT ? flush(self, error) : SHOT_OK;
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return flush((json_sink *)sink, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    return flush((json_sink *)sink, error);
}

static void release(shot_sink *sink) {
    json_sink *self = (json_sink *)sink;
    shot_head_free(&self->head);
    shot_rows_free(&self->rows);
    shot_mark_list_free(&self->marks);
    shot_text_free(&self->text);
    free(self);
}

static const shot_sink_calls calls = {begin, rows, mark, line, end, pause, close, release};

shot_status shot_write_json_new(const shot_making *making, shot_sink **out, shot_error *error) {
    json_sink *self = calloc(1, sizeof *self);
    *out = self != NULL ? &self->sink : NULL;
    if (self == NULL)
        return out_of_memory(error);
    self->sink.calls = &calls;
    self->settings = making->settings;
    self->output = making->output;
    return SHOT_OK;
}
