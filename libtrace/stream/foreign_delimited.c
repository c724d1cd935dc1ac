/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Delimited text: a sample decides the dialect, then records become headers, rows and lines. */
#include "stream/foreign_delimited.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "stream/foreign_sample.h"
#include "stream/header_row.h"
#include "stream/held_records.h"
#include "stream/labelled_text.h"
#include "stream/metadata_text.h"
#include "stream/preamble.h"

struct shot_delimited {
    const struct shot_read_settings *settings;
    const shot_notice *notice;
    shot_foreign_table *table;
    shot_table_target *target;
    const char *file;

    shot_foreign_sample sample;
    bool decided;
    shot_labelled labelled;
    shot_text turned; /* of it, work space */
    shot_dialect dialect;
    shot_records *records;
    bool told_of_quote;
    bool says_shot; /* a line '# shot: NAME' came */

    shot_held_records titles;  /* the header, while its units are awaited; then to compare with */
    shot_held_records comment; /* that may turn out to be the header */
    bool headed, awaits_units;
    shot_preamble preamble;
    shot_metadata metadata;
};

static size_t longest_line(const shot_delimited *self) {
    return (size_t)self->settings->longest_line << 20;
}

shot_status shot_delimited_new(const struct shot_read_settings *settings, const shot_notice *notice,
                               shot_foreign_table *table, shot_table_target *target,
                               const char *file, shot_delimited **out) {
    shot_delimited *self = calloc(1, sizeof *self);
    *out = self;
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->settings = settings;
    self->notice = notice;
    self->table = table;
    self->target = target;
    self->file = file;
    shot_foreign_sample_start(&self->sample, longest_line(self));
    return SHOT_OK;
}

/* ----------------------------------------------------------------------------- other lines --- */

/* A log that passed a filter, or that says as a stream does where its shots start. */
static bool is_trace(const shot_delimited *self) {
    return self->says_shot || shot_foreign_table_is_stream(self->table);
}

static shot_status tell_line(shot_delimited *self, const shot_record *record, shot_error *error) {
    shot_metadata *m = &self->metadata;
    if (record->comment && record->text[0] == '#')
        SHOT_TRY(shot_metadata_read_hash(record->text + 1, record->length - 1, is_trace(self),
                                         self->dialect.decimal, m));
    else if (record->comment)
        SHOT_TRY(
            shot_metadata_read(record->text + 1, record->length - 1, self->dialect.decimal, m));
    else
        SHOT_TRY(shot_metadata_read_cells(record->cells, record->count, self->dialect.decimal, m));
    const char *key = m->key.length > 0 ? m->key.bytes : NULL;
    self->says_shot = self->says_shot || (key != NULL && strcmp(key, "shot") == 0);
    return self->target->calls->line(self->target, key, m->value.bytes, error);
}

/* The comment before the first row may be the header: each waits for the next. */
static shot_status wait_with_comment(shot_delimited *self, const shot_record *record,
                                     shot_error *error) {
    if (self->comment.count > 0)
        SHOT_TRY(tell_line(self, &self->comment.items[0], error));
    shot_held_records_clear(&self->comment);
    return shot_held_records_add(&self->comment, record);
}

/* ---------------------------------------------------------------------------------- header --- */

static shot_status hold_titles(shot_delimited *self, const shot_record *titles) {
    shot_held_records_clear(&self->titles);
    return shot_held_records_add(&self->titles, titles);
}

/* Titles that were said, or that stand beside each value. */
static shot_texts said_titles(shot_delimited *self) {
    return self->labelled.count > 0 ? (shot_texts){self->labelled.titles, self->labelled.count}
                                    : self->settings->names;
}

/* They take the place of those that stand there. */
static shot_status say_header(shot_delimited *self, const shot_record *units, shot_error *error) {
    const shot_texts own = said_titles(self), *names = &own;
    shot_record titles = self->titles.items[0];
    shot_cell *cells = NULL;
    if (names->count > 0) {
        cells = calloc(names->count, sizeof *cells);
        if (cells == NULL)
            return SHOT_ERR_MEMORY;
        for (size_t i = 0; i < names->count; i++)
            cells[i] = (shot_cell){names->items[i], strlen(names->items[i])};
        titles.cells = cells;
        titles.count = names->count;
    }
    self->headed = true;
    self->awaits_units = false;
    shot_status status = self->target->calls->header(self->target, &titles, units, error);
    free(cells);
    return status;
}

static shot_status take_titles(shot_delimited *self, const shot_record *record, bool units,
                               shot_error *error) {
    SHOT_TRY(hold_titles(self, record));
    self->awaits_units = units;
    return units ? SHOT_OK : say_header(self, NULL, error);
}

static shot_status take_only_record(void *user, const shot_record *record, shot_error *error) {
    return hold_titles(user, record);
}

/* Cut the comment that waits into titles, with the rows' own delimiter or with blanks. */
static shot_status cut_comment(shot_delimited *self, char delimiter) {
    const shot_record *comment = &self->comment.items[0];
    shot_dialect dialect = {.delimiter = delimiter, .comment = '\n'};
    shot_records *records;
    SHOT_TRY(shot_records_new(&dialect, comment->length, take_only_record, self, &records));
    const char *text = comment->text + 1, *end = comment->text + comment->length;
    while (text < end && (*text == ' ' || *text == '\t' || *text == self->dialect.comment))
        text++;
    shot_status status = shot_records_push(records, text, (size_t)(end - text), NULL);
    if (status == SHOT_OK)
        status = shot_records_finish(records, false, NULL);
    shot_records_free(records);
    return status;
}

static shot_status header_from_comment(shot_delimited *self, size_t fields, bool *found) {
    const char delimiters[] = {self->dialect.delimiter, ' '};
    *found = false;
    for (int i = 0; i < 2 && !*found && self->comment.count > 0; i++) {
        SHOT_TRY(cut_comment(self, delimiters[i]));
        *found = self->titles.count > 0 && self->titles.items[0].count == fields;
    }
    if (*found)
        shot_held_records_clear(&self->comment);
    return SHOT_OK;
}

/* The first row comes, and no row of titles did. */
static shot_status start_without_titles(shot_delimited *self, const shot_record *first,
                                        shot_error *error) {
    const bool said = said_titles(self).count > 0;
    bool found = false;
    if (!said)
        SHOT_TRY(header_from_comment(self, first->count, &found));
    if (self->comment.count > 0)
        SHOT_TRY(tell_line(self, &self->comment.items[0], error));
    shot_held_records_clear(&self->comment);
    if (!found && !said) {
        if (error != NULL)
            error->line = first->line;
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the table has no header; name its %zu columns with --names time,...",
                         first->count);
    }
    if (!found) {
        shot_record none = {.line = first->line, .text = "", .length = 0};
        SHOT_TRY(hold_titles(self, &none));
    }
    return say_header(self, NULL, error);
}

/* ----------------------------------------------------------------------- above the table --- */

/* What stands above the first table is known again above the next one. */
static shot_status take_line_above(shot_delimited *self, const shot_record *record,
                                   shot_error *error) {
    SHOT_TRY(tell_line(self, record, error));
    return record->comment ? SHOT_OK : shot_preamble_add(&self->preamble, &self->metadata);
}

/* Lines that waited: above the table that begins, or rows that cannot be read, as the target will
 * say. */
static shot_status end_waiting(shot_delimited *self, bool table_begins, shot_error *error) {
    shot_held_records *waiting = &self->preamble.waiting;
    for (size_t i = 0; i < waiting->count; i++)
        SHOT_TRY(table_begins ? tell_line(self, &waiting->items[i], error)
                              : self->target->calls->row(self->target, &waiting->items[i], error));
    shot_held_records_clear(waiting);
    return SHOT_OK;
}

/* ----------------------------------------------------------------------------------- rows ---- */

static bool same_text(const shot_record *a, const shot_record *b) {
    return a->length == b->length && memcmp(a->text, b->text, a->length) == 0;
}

static shot_status take_plain_row(shot_delimited *self, const shot_record *record,
                                  shot_error *error) {
    bool waits;
    SHOT_TRY(shot_preamble_look(&self->preamble, record, self->dialect.decimal, &self->metadata,
                                &waits));
    if (waits)
        return SHOT_OK;
    SHOT_TRY(end_waiting(self, false, error));
    return self->target->calls->row(self->target, record, error);
}

static shot_status take_row(shot_delimited *self, const shot_record *record, shot_error *error) {
    if (self->awaits_units) {
        SHOT_TRY(say_header(self, shot_row_is_units(record) ? record : NULL, error));
        return shot_row_is_units(record) ? SHOT_OK
                                         : self->target->calls->row(self->target, record, error);
    }
    if (!same_text(record, &self->titles.items[0]) && !shot_row_is_header(record))
        return take_plain_row(self, record, error);
    SHOT_TRY(end_waiting(self, true, error));
    return take_titles(self, record, self->dialect.units_row, error);
}

/* ----------------------------------------------------------------------------------- seams --- */

/* A part of a record, cut into cells anew.  It has no seams of its own: one line of a log is joined
 * to one other. */
typedef struct part {
    shot_delimited *self;
    size_t line;
    bool open;
} part;

static shot_status take_line(shot_delimited *self, const shot_record *record, shot_error *error);

static shot_status take_part(void *user, const shot_record *record, shot_error *error) {
    const part *one = user;
    shot_record own = *record;
    own.line = one->line;
    own.open = one->open;
    return take_line(one->self, &own, error);
}

static shot_status cut_part(part *one, const char *text, size_t length, shot_error *error) {
    shot_dialect dialect = one->self->dialect;
    shot_records *records;
    dialect.skipped = 0;
    SHOT_TRY(shot_records_new(&dialect, length, take_part, one, &records));
    shot_status status = shot_records_push(records, text, length, error);
    if (status == SHOT_OK)
        status = shot_records_finish(records, false, error);
    shot_records_free(records);
    return status;
}

/* The last row of a file that lacks its line end, and the first line of the next one. */
static shot_status take_both(shot_delimited *self, const shot_record *record,
                             const shot_row_seam *seam, shot_error *error) {
    part row = {self, record->line, true}, next = {self, record->line, record->open};
    if (seam->end > 0)
        SHOT_TRY(cut_part(&row, record->text, seam->end, error));
    return cut_part(&next, record->text + seam->next, record->length - seam->next, error);
}

/* -------------------------------------------------------------------------------- records ---- */

static shot_status take_line(shot_delimited *self, const shot_record *record, shot_error *error) {
    if (record->comment && self->dialect.header == SHOT_HEADER_COMMENT && !self->headed)
        return wait_with_comment(self, record, error);
    if (record->line <= self->dialect.skipped)
        return take_line_above(self, record, error);
    if (record->comment)
        return tell_line(self, record, error);
    if (self->headed || self->awaits_units)
        return take_row(self, record, error);
    if (self->dialect.header == SHOT_HEADER_ROW)
        return take_titles(self, record, self->dialect.units_row, error);
    SHOT_TRY(start_without_titles(self, record, error));
    return take_row(self, record, error);
}

static shot_status take_record(void *user, const shot_record *record, shot_error *error) {
    shot_delimited *self = user;
    const bool is_row = self->headed && self->titles.count > 0 && !record->comment &&
                        record->line > self->dialect.skipped;
    shot_row_seam seam;
    if (is_row && shot_row_find_seam(record, &self->titles.items[0], &self->dialect, &seam))
        return take_both(self, record, &seam, error);
    return take_line(self, record, error);
}

/* -------------------------------------------------------------------------------- dialect ---- */

/* The dialect is known: take the sample, and all that follows. */
static shot_status start(shot_delimited *self, const shot_text *sample, const shot_text *reasons,
                         shot_error *error) {
    self->decided = true;
    shot_foreign_table_explain(self->table, reasons);
    shot_foreign_table_text(self->table);
    shot_foreign_table_decimal(self->table, self->dialect.decimal);
    SHOT_TRY(
        shot_records_new(&self->dialect, longest_line(self), take_record, self, &self->records));
    shot_status status = shot_records_push(self->records, sample->bytes, sample->length, error);
    shot_text_free(&self->sample.text);
    return status;
}

/* Where each value bears its name, the sample is turned into a table without titles. */
static shot_status look_for_labels(shot_delimited *self, shot_text *turned, shot_text *reasons) {
    const struct shot_read_settings *settings = self->settings;
    shot_labelled_free(&self->labelled);
    if (settings->delimiter == NULL && settings->names.count == 0 && !settings->literal &&
        self->dialect.header == SHOT_HEADER_GUESS)
        SHOT_TRY(shot_labelled_guess(self->sample.text.bytes, self->sample.text.length,
                                     &self->labelled));
    if (self->labelled.count == 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(reasons, "names: beside each value, in most lines the same\n"));
    self->dialect.header = SHOT_HEADER_NONE;
    self->dialect.delimiter = ',';
    self->dialect.decimal = '.';
    return shot_labelled_push(&self->labelled, self->sample.text.bytes, self->sample.text.length,
                              turned);
}

/* Look at the sample; decide if it is enough, or all that comes. */
static shot_status consider(shot_delimited *self, bool all, shot_error *error) {
    shot_text reasons = {0}, turned = {0};
    size_t rows = 0;
    SHOT_TRY(shot_dialect_said(self->settings, &self->dialect, error));
    shot_status status = look_for_labels(self, &turned, &reasons);
    const shot_text *sample = self->labelled.count > 0 ? &turned : &self->sample.text;
    if (status == SHOT_OK)
        status =
            shot_dialect_guess(sample->bytes, sample->length, all, &self->dialect, &rows, &reasons);
    const bool enough = all || shot_foreign_sample_is_enough(&self->sample, rows);
    if (status == SHOT_OK && enough && rows == 0)
        status = shot_foreign_sample_no_rows(&self->sample, all, error);
    else if (status == SHOT_OK && enough)
        status = start(self, sample, &reasons, error);
    else
        shot_foreign_sample_want_more(&self->sample);
    shot_text_free(&reasons);
    shot_text_free(&turned);
    return status;
}

static shot_status take_sample(shot_delimited *self, const char **bytes, size_t *count,
                               shot_error *error) {
    bool full;
    SHOT_TRY(shot_foreign_sample_take(&self->sample, bytes, count, &full));
    return full ? consider(self, false, error) : SHOT_OK;
}

/* ---------------------------------------------------------------------------------- whole ---- */

static void tell_of_quote(shot_delimited *self) {
    size_t line = shot_records_stray_quote(self->records);
    if (line == 0 || self->told_of_quote)
        return;
    self->told_of_quote = true;
    shot_notice_say(self->notice,
                    "%s:%zu: the quote that opens here does not close; from here on quotes are "
                    "signs like others",
                    self->file, line);
}

static shot_status take_bytes(shot_delimited *self, const char *bytes, size_t count,
                              shot_error *error) {
    if (self->labelled.count == 0)
        return shot_records_push(self->records, bytes, count, error);
    shot_text_clear(&self->turned);
    SHOT_TRY(shot_labelled_push(&self->labelled, bytes, count, &self->turned));
    return shot_records_push(self->records, self->turned.bytes, self->turned.length, error);
}

static shot_status finish_labels(shot_delimited *self, shot_error *error) {
    if (self->labelled.count == 0)
        return SHOT_OK;
    shot_text_clear(&self->turned);
    SHOT_TRY(shot_labelled_finish(&self->labelled, &self->turned));
    return shot_records_push(self->records, self->turned.bytes, self->turned.length, error);
}

shot_status shot_delimited_push(shot_delimited *self, const char *bytes, size_t count,
                                shot_error *error) {
    while (!self->decided && count > 0)
        SHOT_TRY(take_sample(self, &bytes, &count, error));
    if (count > 0)
        SHOT_TRY(take_bytes(self, bytes, count, error));
    if (self->decided)
        tell_of_quote(self);
    return SHOT_OK;
}

shot_status shot_delimited_finish(shot_delimited *self, bool cut, shot_error *error) {
    if (!self->decided)
        SHOT_TRY(consider(self, true, error));
    SHOT_TRY(finish_labels(self, error));
    if (shot_foreign_table_is_stream(self->table) && shot_records_is_open(self->records)) {
        shot_notice_say(self->notice, "%s: the last line is incomplete and was left out",
                        self->file);
        cut = true;
    }
    SHOT_TRY(shot_records_finish(self->records, cut, error));
    tell_of_quote(self);
    if (self->comment.count > 0)
        SHOT_TRY(tell_line(self, &self->comment.items[0], error));
    if (self->awaits_units)
        SHOT_TRY(say_header(self, NULL, error));
    SHOT_TRY(end_waiting(self, false, error));
    return self->target->calls->end(self->target, error);
}

void shot_delimited_free(shot_delimited *self) {
    if (self == NULL)
        return;
    shot_text_free(&self->sample.text);
    shot_text_free(&self->turned);
    shot_labelled_free(&self->labelled);
    shot_records_free(self->records);
    shot_held_records_free(&self->titles);
    shot_held_records_free(&self->comment);
    shot_preamble_free(&self->preamble);
    shot_metadata_free(&self->metadata);
    free(self);
}
