/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What comes in: traces and tables. */
#include "plot/intake.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/reader.h>

#include "lack_of_memory.h"

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the picture", error);
}

/* ---- which is it? ---- */

typedef struct table_kind {
    plot_intake_kind kind;
    const char *start, *made_by;
} table_kind;

static const table_kind table_kinds[] = {
    {PLOT_MEASURES, "shot,measure,", "shot-report --format csv"},
    {PLOT_CONTRASTS, "measure,unit,a,b,", "shot-compare --format csv"},
    {PLOT_SPECTRA, "shot,channel,frequency", "shot-spectrum --table"},
    {PLOT_SWEEP, "part,x,", "shot-sweep --format curve"},
};
enum { TABLE_KINDS = sizeof table_kinds / sizeof *table_kinds };

static const table_kind *kind_of_line(const char *bytes, size_t count) {
    for (size_t i = 0; i < TABLE_KINDS; i++) {
        size_t length = strlen(table_kinds[i].start);
        if (count >= length && memcmp(bytes, table_kinds[i].start, length) == 0)
            return &table_kinds[i];
    }
    return NULL;
}

/* Finds the first line that says something; false if it is not there yet. */
static bool find_first_line(const shot_text *text, size_t *from, size_t *length) {
    for (size_t at = 0; at < text->length;) {
        const char *start = text->bytes + at;
        const char *stop = memchr(start, '\n', text->length - at);
        if (stop == NULL)
            return false;
        *from = at;
        *length = (size_t)(stop - start);
        if (*start != '#' && *start != '\n' && *start != '\r')
            return true;
        at += *length + 1;
    }
    return false;
}

static shot_status start_table(plot_intake *self, const table_kind *kind, size_t from,
                               size_t header, shot_error *error) {
    if (self->any && (!self->is_table || self->kind != kind->kind))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "'%s' is a table of %s, and what came before it is not; draw them one by "
                         "one",
                         self->name.bytes, kind->made_by);
    size_t skip = self->any ? from + header + 1 : from; /* one header is enough */
    self->kind = kind->kind;
    self->is_table = self->any = true;
    return checked(
        shot_text_add_bytes(&self->table, self->waiting.bytes + skip, self->waiting.length - skip),
        error);
}

static shot_status start_trace(plot_intake *self, shot_error *error) {
    if (self->any && self->is_table)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "'%s' is no table, and what came before it is one; draw them one by one",
                         self->name.bytes);
    self->any = self->any || self->waiting.length > 0;
    self->is_table = false;
    SHOT_TRY(self->reader->calls->file(self->reader, self->name.bytes, error));
    return self->reader->calls->push(self->reader, self->waiting.bytes, self->waiting.length,
                                     error);
}

static shot_status decide(plot_intake *self, bool whole, shot_error *error) {
    size_t from = 0, length = 0;
    bool found = find_first_line(&self->waiting, &from, &length);
    if (!found && !whole)
        return SHOT_OK;
    const table_kind *kind = found ? kind_of_line(self->waiting.bytes + from, length) : NULL;
    self->deciding = false;
    shot_status status =
        kind != NULL ? start_table(self, kind, from, length, error) : start_trace(self, error);
    shot_text_clear(&self->waiting);
    return status;
}

/* ---- the course of things ---- */

shot_status plot_intake_init(plot_intake *intake, const shot_making *making,
                             shot_status (*done)(void *user, shot_error *error), void *user,
                             shot_error *error) {
    *intake = (plot_intake){.kind = PLOT_TRACES};
    shot_table_collector_init(&intake->collector);
    intake->collector.done = done;
    intake->collector.user = user;
    shot_reader_settings settings = {.notice = making->notice, .go_on = making->go_on};
    return shot_reader_new(&settings, &intake->collector.sink, &intake->reader, error);
}

shot_status plot_intake_file(plot_intake *intake, const char *name, shot_error *error) {
    if (intake->deciding)
        SHOT_TRY(decide(intake, true, error));
    intake->deciding = true;
    shot_text_clear(&intake->name);
    SHOT_TRY(checked(shot_text_add(&intake->waiting, ""), error)); /* no bytes are a text too */
    return checked(shot_text_add(&intake->name, name), error);
}

shot_status plot_intake_push(plot_intake *intake, const char *bytes, size_t count,
                             shot_error *error) {
    if (intake->deciding) {
        SHOT_TRY(checked(shot_text_add_bytes(&intake->waiting, bytes, count), error));
        return decide(intake, false, error);
    }
    if (intake->is_table)
        return checked(shot_text_add_bytes(&intake->table, bytes, count), error);
    return intake->reader->calls->push(intake->reader, bytes, count, error);
}

shot_status plot_intake_file_end(plot_intake *intake, bool lost, shot_error *error) {
    const bool nothing = lost && intake->deciding && intake->waiting.length == 0;
    if (intake->deciding && !nothing)
        SHOT_TRY(decide(intake, true, error));
    intake->deciding = false;
    if (nothing || intake->is_table)
        return SHOT_OK;
    return intake->reader->calls->file_end(intake->reader, lost, error);
}

shot_status plot_intake_finish(plot_intake *intake, shot_error *error) {
    if (intake->deciding)
        SHOT_TRY(decide(intake, true, error));
    if (intake->is_table)
        return intake->collector.done(intake->collector.user, error);
    return intake->reader->calls->finish(intake->reader, error);
}

void plot_intake_free(plot_intake *intake) {
    if (intake->reader != NULL)
        intake->reader->calls->free(intake->reader);
    shot_table_collector_free(&intake->collector);
    shot_text_free(&intake->table);
    shot_text_free(&intake->waiting);
    shot_text_free(&intake->name);
}
