/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The findings of a trace as a table. */
#include <shottrace/judge/marks.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/log_time.h>
#include <shottrace/trace/mark_table.h>
#include <shottrace/trace/quoting.h>
#include <shottrace/trace/stage.h>

#include "judge/counted_marks.h"
#include "judge/score.h"

enum { CSV = SCORE_CSV, JSON = SCORE_JSON, PAGE = SCORE_PAGE };

struct marks_settings {
    bool all;
    int format;
    score_settings score;
};

static const shot_option options[] = {
    {.letter = 'a',
     .name = "all",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct marks_settings, all),
     .only = "!score",
     .help = "also print marks that a later mark refines, each as soon as it comes"},
    {.name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct marks_settings, format),
     .argument = "NAME",
     .choices = "csv|json|page",
     .initial = "csv",
     .help = "CSV with a header line, JSON lines, or a page for a person (of --score)"},
    {.letter = 's',
     .name = "score",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct marks_settings, score.reference),
     .argument = "REFERENCE",
     .help = "print how well the marks agree with those of this file: a table of marks that starts "
             "with the column shot, or a trace that bears marks"},
    {.name = "within",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct marks_settings, score.within),
     .argument = "TIME",
     .unit = "s",
     .initial = "0.5s",
     .low = 0,
     .high = 1e6,
     .only = "score",
     .help = "how far apart a mark and the annotated one may be"},
    {.letter = 'k',
     .name = "kind",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct marks_settings, score.kinds),
     .only = "score",
     .argument = "NAME,...",
     .help = "the kinds to score; without it those that the reference has"},
    {0}};

typedef struct marks_sink {
    shot_sink sink;
    const struct marks_settings *settings;
    const shot_output *output;
    char *shot;
    shot_decimal origin;
    shot_mark_list marks;
    shot_text text;
    bool header_done;
} marks_sink;

static shot_status add_number_of(marks_sink *self, const shot_mark_column *one, double value) {
    return one->kind == SHOT_MARK_TIME ? shot_text_add_log_time(&self->text, value, &self->origin)
                                       : shot_text_add_number(&self->text, value);
}

static shot_status add_csv_cell(marks_sink *self, const shot_mark_column *one,
                                const shot_mark *mark) {
    const char *place = (const char *)mark + one->offset;
    SHOT_TRY(shot_text_add(&self->text, ","));
    if (one->kind == SHOT_MARK_TEXT)
        return shot_text_add_csv(&self->text, *(char *const *)place);
    double value = *(const double *)place;
    return isfinite(value) ? add_number_of(self, one, value) : SHOT_OK;
}

static shot_status add_csv(marks_sink *self, const shot_mark *mark) {
    SHOT_TRY(shot_text_add_csv(&self->text, self->shot));
    for (size_t c = 0; c < SHOT_MARK_COLUMNS; c++)
        SHOT_TRY(add_csv_cell(self, &shot_mark_columns[c], mark));
    return shot_text_add(&self->text, "\n");
}

/* Absent fields are left out of the object. */
static shot_status add_json_member(marks_sink *self, const shot_mark_column *one,
                                   const shot_mark *mark) {
    const char *place = (const char *)mark + one->offset;
    double value = one->kind == SHOT_MARK_TEXT ? NAN : *(const double *)place;
    const char *words = one->kind == SHOT_MARK_TEXT ? *(char *const *)place : NULL;
    if (words == NULL && !isfinite(value))
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(&self->text, ",\"%s\":", one->name));
    return words ? shot_text_add_json(&self->text, words) : add_number_of(self, one, value);
}

static shot_status add_json(marks_sink *self, const shot_mark *mark) {
    SHOT_TRY(shot_text_add(&self->text, "{\"shot\":"));
    SHOT_TRY(shot_text_add_json(&self->text, self->shot));
    for (size_t c = 0; c < SHOT_MARK_COLUMNS; c++)
        SHOT_TRY(add_json_member(self, &shot_mark_columns[c], mark));
    return shot_text_add(&self->text, "}\n");
}

static shot_status add_header(marks_sink *self) {
    if (self->header_done || self->settings->format != CSV)
        return SHOT_OK;
    self->header_done = true;
    SHOT_TRY(shot_text_add(&self->text, "shot"));
    for (size_t c = 0; c < SHOT_MARK_COLUMNS; c++)
        SHOT_TRY(shot_text_add_format(&self->text, ",%s", shot_mark_columns[c].name));
    return shot_text_add(&self->text, "\n");
}

static shot_status flush(marks_sink *self, shot_error *error) {
    return shot_output_flush(self->output, &self->text, error);
}

static shot_status out_of_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the table of marks");
}

static shot_status print(marks_sink *self, const shot_mark *mark, shot_error *error) {
    shot_status status = self->settings->format == CSV ? add_csv(self, mark) : add_json(self, mark);
    if (status != SHOT_OK)
        return out_of_memory(error);
    return self->text.length >= 64 * 1024 ? flush(self, error) : SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    marks_sink *self = (marks_sink *)sink;
    free(self->shot);
    self->shot = shot_text_copy(head->name);
    SHOT_TRY(shot_log_time_origin(head, &self->origin, error));
    return self->shot != NULL && add_header(self) == SHOT_OK ? SHOT_OK : out_of_memory(error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    marks_sink *self = (marks_sink *)sink;
    if (self->settings->all)
        return print(self, one, error);
    return shot_mark_list_add(&self->marks, one) == SHOT_OK ? SHOT_OK : out_of_memory(error);
}

/* A detector that ran twice says the same twice; what shot-clean counts may come twice at one time.
 */
static bool comes_again(const shot_mark_list *list, size_t index) {
    static const char *const found[] = {"surge", "pulse",       "knee",      "ripple", "step",
                                        "delay", "preinfusion", "fill",      "soak",   "ramp",
                                        "brew",  "release",     "first-drip"};
    bool is_found = false;
    for (size_t i = 0; i < sizeof found / sizeof *found; i++)
        is_found = is_found || strcmp(list->marks[index].kind, found[i]) == 0;
    if (!is_found)
        return false;
    for (size_t i = 0; i < index; i++)
        if (shot_mark_is_again(&list->marks[i], &list->marks[index]))
            return true;
    return false;
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    marks_sink *self = (marks_sink *)sink;
    if (shot_mark_list_keep_standing(&self->marks) != SHOT_OK)
        return out_of_memory(error);
    for (size_t i = 0; i < self->marks.count; i++)
        if (!comes_again(&self->marks, i))
            SHOT_TRY(print(self, &self->marks.marks[i], error));
    shot_mark_list_clear(&self->marks);
    return SHOT_OK;
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return flush((marks_sink *)sink, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    marks_sink *self = (marks_sink *)sink;
    if (!cut && add_header(self) != SHOT_OK) /* of no bytes at all not even a table without rows */
        return out_of_memory(error);
    return flush(self, error);
}

static void release(shot_sink *sink) {
    marks_sink *self = (marks_sink *)sink;
    free(self->shot);
    shot_mark_list_free(&self->marks);
    shot_text_free(&self->text);
    free(self);
}

static const shot_sink_calls calls = {
    .begin = begin, .mark = mark, .end = end, .pause = pause, .close = close, .free = release};

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct marks_settings *settings = making->settings;
    *out = NULL;
    if (settings->score.reference != NULL)
        return score_new(making, &settings->score, settings->format, out, error);
    if (settings->format == PAGE)
        return shot_fail(error, SHOT_ERR_USAGE, "--format page: only with --score");
    marks_sink *self = calloc(1, sizeof *self);
    *out = self ? &self->sink : NULL;
    if (self == NULL)
        return out_of_memory(error);
    self->sink.calls = &calls;
    self->settings = making->settings;
    self->output = making->output;
    return SHOT_OK;
}

static void latency(const void *settings, char *out, size_t room) {
    const struct marks_settings *self = settings;
    if (self->all)
        snprintf(out, room, "0 s");
    else if (self->score.reference != NULL)
        shot_latency_stream(settings, out, room);
    else
        shot_latency_shot(settings, out, room);
}

static const char *const examples[] = {
    "shot-knees < shot.csv | shot-marks",
    "shot-segment < shot.csv | shot-marks --format json",
    "shot-surges < week.trace | shot-marks --score annotated.csv --format page",
    NULL,
};

const shot_description shot_marks = {
    .name = "marks",
    .purpose = "print the findings of a trace as a table",
    .details = "Prints a row for each mark that the filters before it found: shot, id, kind, from, "
               "to, channel, value, unit, the intervals of these figures, their level, the mark "
               "refined and a note. Times are those of the log's own clock. Of a mark and those "
               "that refine it only the last is printed, and what a detector found twice once.\n"
               "With --score, marks are compared with annotated ones instead. Within a shot each "
               "mark is paired with at most one annotated mark of its kind whose start is near "
               "enough, so that there are as many pairs as can be. For each kind: precision (found "
               "marks that are right), recall (annotated marks that were found), F1, with 95 % "
               "intervals; the median error in time; and the share of the marks' own intervals "
               "that hold the annotated time.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct marks_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
