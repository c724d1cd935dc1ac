/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Found marks against annotated ones. */
#include "judge/score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/matching.h>
#include <shottrace/trace/log_time.h>
#include <shottrace/trace/mark_table.h>
#include <shottrace/trace/stage.h>

#include "lack_of_memory.h"
#include "room.h"

/* The shots of the reference, where that is a trace. */
typedef struct reference_sink {
    shot_sink sink;
    char *shot;
    shot_decimal origin;
    struct scorer *scorer;
} reference_sink;

typedef struct scorer {
    shot_sink sink;
    const score_settings *settings;
    int format;
    const shot_output *output;
    shot_notice notice;
    reference_sink intake;
    shot_mark_table reference;
    shot_name_list known; /* shots of the reference, also those without a mark */
    char *shot;
    shot_decimal origin;
    shot_mark_list marks; /* of the current shot */
    score_kind *kinds;
    size_t kind_count;
    shot_name_sample unknown;
    shot_name_list unscored; /* kinds that were found and are not asked for, each once */
    shot_text text;
} scorer;

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the score", error);
}

/* ---- kinds ---- */

static score_kind *kind_named(scorer *self, const char *name) {
    for (size_t i = 0; i < self->kind_count; i++)
        if (strcmp(self->kinds[i].name, name) == 0)
            return &self->kinds[i];
    return NULL;
}

static shot_status add_kind(scorer *self, const char *name) {
    if (kind_named(self, name) != NULL)
        return SHOT_OK;
    score_kind *kinds = realloc(self->kinds, (self->kind_count + 1) * sizeof *kinds);
    if (kinds == NULL)
        return SHOT_ERR_MEMORY;
    self->kinds = kinds;
    kinds[self->kind_count] = (score_kind){.name = shot_text_copy(name)};
    return kinds[self->kind_count++].name != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status settle_kinds(scorer *self) {
    const shot_texts *wanted = &self->settings->kinds;
    for (size_t i = 0; i < wanted->count; i++)
        SHOT_TRY(add_kind(self, wanted->items[i]));
    for (size_t i = 0; wanted->count == 0 && i < self->reference.count; i++)
        SHOT_TRY(add_kind(self, self->reference.rows[i].mark.kind));
    return SHOT_OK;
}

static shot_status add_error(score_kind *kind, double error) {
    double *errors = room_for_more(kind->errors, kind->matched, &kind->room, 16, sizeof *errors);
    if (errors == NULL)
        return SHOT_ERR_MEMORY;
    kind->errors = errors;
    kind->errors[kind->matched++] = error;
    return SHOT_OK;
}

/* ---- one shot ---- */

/* The standing marks of a kind by their time.  *out is owned by the caller. */
typedef struct instants {
    const shot_mark **marks;
    double *times;
    size_t count;
} instants;

static int by_from(const void *a, const void *b) {
    const double x = (*(const shot_mark *const *)a)->from, y = (*(const shot_mark *const *)b)->from;
    return (x > y) - (x < y);
}

static void instants_free(instants *list) {
    free(list->marks);
    free(list->times);
}

static shot_status instants_of(const shot_mark_list *marks, const char *kind, instants *out) {
    *out = (instants){malloc((marks->count + 1) * sizeof *out->marks),
                      malloc((marks->count + 1) * sizeof *out->times), 0};
    if (out->marks == NULL || out->times == NULL) {
        instants_free(out);
        return SHOT_ERR_MEMORY;
    }
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *one = &marks->marks[i];
        if (strcmp(one->kind, kind) == 0 && !isnan(one->from) && shot_mark_list_stands(marks, i))
            out->marks[out->count++] = one;
    }
    qsort(out->marks, out->count, sizeof *out->marks, by_from);
    for (size_t i = 0; i < out->count; i++)
        out->times[i] = out->marks[i]->from;
    return SHOT_OK;
}

static shot_status count_pair(score_kind *kind, const shot_mark *found, double truth) {
    const bool with_interval = !isnan(found->from_low) && !isnan(found->from_high);
    kind->with_interval += with_interval;
    kind->covering += with_interval && truth >= found->from_low && truth <= found->from_high;
    return add_error(kind, found->from - truth);
}

static shot_status match_kind(score_kind *kind, const instants *found, const instants *truth,
                              double within) {
    size_t *partner = malloc((found->count + 1) * sizeof *partner);
    if (partner == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status =
        shot_matching_find(found->times, found->count, truth->times, truth->count, within, partner);
    for (size_t i = 0; i < found->count && status == SHOT_OK; i++)
        if (partner[i] != SHOT_UNMATCHED)
            status = count_pair(kind, found->marks[i], truth->times[partner[i]]);
    kind->found += found->count;
    kind->annotated += truth->count;
    free(partner);
    return status;
}

static shot_status score_kind_of(scorer *self, score_kind *kind, const shot_mark_list *truth) {
    instants found, wanted;
    SHOT_TRY(instants_of(&self->marks, kind->name, &found));
    shot_status status = instants_of(truth, kind->name, &wanted);
    if (status == SHOT_OK) {
        status = match_kind(kind, &found, &wanted, self->settings->within);
        instants_free(&wanted);
    }
    instants_free(&found);
    return status;
}

/* The annotated marks of the shot, in its own time. */
static shot_status truth_of(scorer *self, shot_mark_list *out) {
    size_t count;
    const shot_named *of = shot_name_list_find(&self->reference.shots, self->shot, &count);
    for (size_t i = 0; i < count; i++) {
        shot_mark one;
        SHOT_TRY(shot_mark_row_settle(&self->reference.rows[of[i].index], &self->origin, &one));
        const shot_status status = shot_mark_list_add(out, &one);
        shot_mark_free(&one);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

static shot_status note_unscored(scorer *self, const char *kind) {
    for (size_t i = 0; i < self->unscored.count; i++)
        if (strcmp(self->unscored.names[i].name, kind) == 0)
            return SHOT_OK;
    return kind_named(self, kind) == NULL ? shot_name_list_add(&self->unscored, kind) : SHOT_OK;
}

static shot_status score_shot(scorer *self) {
    size_t count;
    if (shot_name_list_find(&self->known, self->shot, &count) == NULL)
        return shot_name_sample_add(&self->unknown, self->shot);
    shot_mark_list truth = {0};
    shot_status status = truth_of(self, &truth);
    for (size_t i = 0; i < self->kind_count && status == SHOT_OK; i++)
        status = score_kind_of(self, &self->kinds[i], &truth);
    shot_mark_list_free(&truth);
    for (size_t i = 0; i < self->marks.count && status == SHOT_OK; i++)
        status = note_unscored(self, self->marks.marks[i].kind);
    return status;
}

/* ---- the shots to be scored ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    scorer *self = (scorer *)sink;
    free(self->shot);
    self->shot = shot_text_copy(head->name);
    shot_mark_list_clear(&self->marks);
    SHOT_TRY(shot_log_time_origin(head, &self->origin, error));
    return checked(self->shot != NULL ? SHOT_OK : SHOT_ERR_MEMORY, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_mark_list_add(&((scorer *)sink)->marks, one), error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    return checked(score_shot((scorer *)sink), error);
}

static void say(const scorer *self, const char *what, shot_name_sample *names) {
    if (names->count > 0)
        shot_notice_say(&self->notice, "%s %s", what, shot_name_sample_text(names));
}

static shot_status say_unmet(const scorer *self, const char *what, const shot_name_list *list) {
    shot_name_sample names = {0};
    const shot_status status = shot_name_sample_add_unmet(&names, list);
    say(self, what, &names);
    shot_name_sample_free(&names);
    return status;
}

static shot_status say_all(scorer *self) {
    say(self, "shots that the reference does not know, not scored:", &self->unknown);
    SHOT_TRY(say_unmet(self, "shots of the reference that did not come:", &self->known));
    shot_name_list_sort(&self->unscored);
    return self->settings->kinds.count > 0
               ? SHOT_OK
               : say_unmet(self,
                           "found, but of no kind that the reference has (name with --kind what "
                           "it should have):",
                           &self->unscored);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    scorer *self = (scorer *)sink;
    SHOT_TRY(checked(say_all(self), error));
    SHOT_TRY(checked(score_write(&self->text, self->kinds, self->kind_count, self->format), error));
    return self->output->write(self->output->user, self->text.bytes, self->text.length, error);
}

static void release(shot_sink *sink) {
    scorer *self = (scorer *)sink;
    for (size_t i = 0; i < self->kind_count; i++) {
        free(self->kinds[i].name);
        free(self->kinds[i].errors);
    }
    free(self->kinds);
    free(self->shot);
    free(self->intake.shot);
    shot_mark_list_free(&self->marks);
    shot_mark_table_free(&self->reference);
    shot_name_list_free(&self->known);
    shot_name_sample_free(&self->unknown);
    shot_name_list_free(&self->unscored);
    shot_text_free(&self->text);
    free(self);
}

static const shot_sink_calls calls = {
    .begin = begin, .mark = mark, .end = end, .close = close, .free = release};

/* ---- the reference ---- */

static shot_status reference_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    reference_sink *self = (reference_sink *)sink;
    free(self->shot);
    self->shot = shot_text_copy(head->name);
    SHOT_TRY(shot_log_time_origin(head, &self->origin, error));
    if (self->shot == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    return checked(shot_name_list_add(&self->scorer->known, head->name), error);
}

static shot_status reference_mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    reference_sink *self = (reference_sink *)sink;
    return checked(shot_mark_table_add(&self->scorer->reference, self->shot, one, &self->origin),
                   error);
}

static const shot_sink_calls reference_calls = {.begin = reference_begin, .mark = reference_mark};

static shot_status reference_line(void *user, const char *line, size_t length, shot_error *error) {
    return checked(shot_mark_table_add_line(&((scorer *)user)->reference, line, length, error),
                   error);
}

static shot_status load_reference(scorer *self, const shot_loader *loader, shot_error *error) {
    char *items[] = {(char *)self->settings->reference};
    const shot_texts paths = {items, 1};
    const shot_intake into = {
        .sink = &self->intake.sink, .line = reference_line, .user = self, .table = "shot,"};
    SHOT_TRY(loader->load(loader->user, &paths, &into, error));
    for (size_t i = 0; i < self->reference.shots.count && self->reference.header.count > 0; i++)
        SHOT_TRY(
            checked(shot_name_list_add(&self->known, self->reference.shots.names[i].name), error));
    shot_name_list_sort(&self->reference.shots);
    shot_name_list_sort(&self->known);
    if (self->reference.count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "the reference '%s' has no marks", items[0]);
    return checked(settle_kinds(self), error);
}

shot_status score_new(const shot_making *making, const score_settings *settings, int format,
                      shot_sink **out, shot_error *error) {
    scorer *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    self->sink.calls = &calls;
    self->settings = settings;
    self->format = format;
    self->output = making->output;
    self->notice = making->notice;
    self->intake.sink.calls = &reference_calls;
    self->intake.scorer = self;
    const shot_status status = load_reference(self, &making->loader, error);
    if (status != SHOT_OK)
        release(&self->sink);
    else
        *out = &self->sink;
    return status;
}
