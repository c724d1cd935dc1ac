/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all detectors share. */
#include <shottrace/trace/detector.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

typedef struct detector {
    shot_stage stage;
    shot_detect detect;
    shot_table table;
    const shot_watch *watch; /* or NULL, and with it what follows */
    void *state;
    shot_mark_list sent;   /* by the watch, in this shot */
    const double **column; /* [columns] of the part of a block that is handed on */
} detector;

/* Estimates are handed on in digits that mean something: times to a microsecond, finer than any
 * logger's clock, figures to six digits. */
static void round_time(double *time) {
    double microseconds = round(*time * 1e6);
    if (fabs(microseconds) < 9e15)
        *time = microseconds / 1e6;
}

static void round_figure(double *figure) {
    char digits[SHOT_NUMBER_ROOM];
    size_t length = shot_number_write_digits(digits, *figure, 6);
    if (length > 0)
        shot_number_read(digits, digits + length, figure);
}

static void round_estimates(shot_mark *mark) {
    double *const times[] = {&mark->from,      &mark->to,     &mark->from_low,
                             &mark->from_high, &mark->to_low, &mark->to_high};
    double *const figures[] = {&mark->value, &mark->value_low, &mark->value_high};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        round_time(times[i]);
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        round_figure(figures[i]);
}

/* Round, keep for later detectors' ids, and hand on. */
static shot_status hand_on(detector *self, shot_mark *mark, shot_error *error) {
    round_estimates(mark);
    SHOT_TRY(shot_table_mark(&self->table, mark));
    return shot_sink_mark(self->stage.next, mark, error);
}

static shot_status hand_on_lines(detector *self, const shot_findings *found, shot_error *error) {
    for (size_t i = 0; i < found->line_count; i++)
        SHOT_TRY(shot_sink_line(self->stage.next, &found->lines[i], error));
    return SHOT_OK;
}

static shot_status tell_memory(const detector *self, shot_status status, shot_error *error) {
    if (status == SHOT_ERR_MEMORY)
        shot_fail(error, status, "shot '%s': out of memory", self->table.head.name);
    return status;
}

/* ---- while samples arrive ---- */

shot_status shot_provisional_id(const shot_table *shot, const char *kind, char **out) {
    shot_text prefix = {0};
    *out = NULL;
    shot_status status = shot_text_add_format(&prefix, "%s-", kind);
    if (status == SHOT_OK && shot->turn > 0)
        status = shot_text_add_format(&prefix, "%zu-", shot->turn + 1);
    if (status == SHOT_OK)
        status = shot_mark_list_new_id(&shot->marks, prefix.bytes, out);
    shot_text_free(&prefix);
    return status;
}

/* Detectors of any name tell notes: each is called after the mark that it withdraws. */
static shot_status give_provisional_id(detector *self, shot_mark *mark) {
    shot_text kind = {0};
    if (mark->id != NULL)
        return SHOT_OK;
    if (mark->refines == NULL)
        return shot_provisional_id(&self->table, mark->kind, &mark->id);
    shot_status status = shot_text_add_format(&kind, "%s-%s", mark->kind, mark->refines);
    if (status == SHOT_OK)
        status = shot_provisional_id(&self->table, kind.bytes, &mark->id);
    shot_text_free(&kind);
    return status;
}

static shot_status send_provisional(detector *self, shot_findings *found, shot_error *error) {
    SHOT_TRY(hand_on_lines(self, found, error));
    for (size_t i = 0; i < found->marks.count; i++) {
        shot_mark *mark = &found->marks.marks[i];
        SHOT_TRY(give_provisional_id(self, mark));
        SHOT_TRY(hand_on(self, mark, error));
        SHOT_TRY(shot_mark_list_add(&self->sent, mark));
    }
    return SHOT_OK;
}

static shot_status hand_on_rows(detector *self, const shot_block *block, size_t from, size_t to,
                                shot_error *error) {
    if (to == from)
        return SHOT_OK;
    for (size_t c = 0; c < block->columns; c++)
        self->column[c] = block->column[c] + from;
    shot_block part = {to - from, block->columns, self->column};
    return shot_sink_rows(self->stage.next, &part, error);
}

/* Row by row, so that the watch sees no further than the row that just came. */
static shot_status watch_rows(detector *self, const shot_block *block, shot_error *error) {
    size_t done = 0;
    for (size_t i = 0; i < block->rows; i++) {
        shot_findings found = {0};
        shot_status status = shot_rows_append_one(&self->table.rows, block, i);
        if (status == SHOT_OK)
            status =
                self->watch->look(self->state, &self->table, self->stage.settings, &found, error);
        if (status == SHOT_OK && found.line_count + found.marks.count > 0) {
            status = hand_on_rows(self, block, done, i + 1, error);
            done = i + 1;
            if (status == SHOT_OK)
                status = send_provisional(self, &found, error);
        }
        shot_findings_free(&found);
        SHOT_TRY(tell_memory(self, status, error));
    }
    return hand_on_rows(self, block, done, block->rows, error);
}

static void forget(detector *self) {
    if (self->watch == NULL)
        return;
    if (self->watch->free != NULL)
        self->watch->free(self->state);
    memset(self->state, 0, self->watch->size);
    shot_mark_list_clear(&self->sent);
}

static shot_status start_watch(detector *self, const shot_head *head) {
    forget(self);
    if (self->watch == NULL)
        return SHOT_OK;
    free(self->column);
    self->column = malloc((head->channel_count + 1) * sizeof *self->column);
    return self->column != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* ---- at the end ---- */

/* The nearest pair of a mark of the watch that stands and a final one of its kind that refines
 * none; false if there is no such pair within the watch's `apart`. */
static bool nearest_pair(const detector *self, const shot_mark_list *final, size_t *a, size_t *b) {
    double best = INFINITY;
    for (size_t i = 0; i < self->sent.count; i++)
        for (size_t k = 0; k < final->count; k++) {
            const shot_mark *early = &self->sent.marks[i], *late = &final->marks[k];
            double apart = fabs(early->from - late->from);
            if (early->id == NULL || late->refines != NULL ||
                strcmp(early->kind, late->kind) != 0 ||
                !(apart < best && apart <= self->watch->apart) ||
                !shot_mark_list_stands(&self->sent, i))
                continue;
            best = apart;
            *a = i;
            *b = k;
        }
    return isfinite(best);
}

/* Each event counts once: final marks take the place of provisional ones, whose ids move to them.
 */
static void refine(detector *self, shot_findings *found) {
    size_t early = 0, late = 0;
    while (self->watch != NULL && nearest_pair(self, &found->marks, &early, &late)) {
        found->marks.marks[late].refines = self->sent.marks[early].id;
        self->sent.marks[early].id = NULL;
    }
}

/* Does a final mark take the place of another one of its kind, which came from elsewhere? */
static bool is_told_elsewhere(const char *kind, const shot_mark_list *final) {
    for (size_t i = 0; i < final->count; i++)
        if (strcmp(final->marks[i].kind, kind) == 0 && final->marks[i].refines != NULL &&
            !shot_mark_id_is_provisional(final->marks[i].refines, kind))
            return true;
    return false;
}

/* A note in its place says that it was none, and why. */
static shot_status withdraw(detector *self, const shot_mark *mark, const shot_mark_list *final,
                            shot_error *error) {
    shot_text why = {0};
    shot_mark note = shot_mark_none();
    note.kind = (char *)"note";
    note.refines = mark->id;
    note.from = note.to = mark->from;
    shot_status status = shot_text_add_format(&why, "%s withdrawn: %s", mark->kind,
                                              is_told_elsewhere(mark->kind, final)
                                                  ? "another mark tells of it"
                                                  : "the whole shot does not bear it out");
    note.note = why.bytes;
    if (status == SHOT_OK)
        status = give_provisional_id(self, &note);
    if (status == SHOT_OK)
        status = hand_on(self, &note, error);
    free(note.id);
    shot_text_free(&why);
    return status;
}

static shot_status withdraw_the_rest(detector *self, const shot_mark_list *final,
                                     shot_error *error) {
    for (size_t i = 0; i < self->sent.count; i++)
        if (self->sent.marks[i].id != NULL && shot_mark_list_stands(&self->sent, i))
            SHOT_TRY(withdraw(self, &self->sent.marks[i], final, error));
    return SHOT_OK;
}

static shot_status hand_on_final(detector *self, shot_findings *found, shot_error *error) {
    refine(self, found);
    shot_notice_say_lines(&self->stage.notice, NULL, found->told.bytes);
    SHOT_TRY(hand_on_lines(self, found, error));
    SHOT_TRY(withdraw_the_rest(self, &found->marks, error));
    for (size_t i = 0; i < found->marks.count; i++) {
        shot_mark *mark = &found->marks.marks[i];
        if (mark->id == NULL)
            SHOT_TRY(shot_mark_list_id_for(&self->table.marks, mark->kind, &mark->id));
        SHOT_TRY(hand_on(self, mark, error));
    }
    return SHOT_OK;
}

static shot_status find_and_hand_on(detector *self, shot_error *error) {
    shot_findings found = {0};
    shot_status status = self->detect(&self->table, self->stage.settings, &found, error);
    if (status == SHOT_OK)
        status = hand_on_final(self, &found, error);
    shot_findings_free(&found);
    return tell_memory(self, status, error);
}

/* ---- the sink ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    detector *self = (detector *)sink;
    SHOT_TRY(shot_table_begin(&self->table, head));
    self->table.turn = shot_stage_turn(&self->stage, head);
    SHOT_TRY(start_watch(self, head));
    return shot_stage_begin(sink, head, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    detector *self = (detector *)sink;
    if (self->watch != NULL)
        return watch_rows(self, block, error);
    SHOT_TRY(shot_table_rows(&self->table, block));
    return shot_stage_rows(sink, block, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    SHOT_TRY(shot_table_mark(&((detector *)sink)->table, one));
    return shot_stage_mark(sink, one, error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    SHOT_TRY(shot_table_line(&((detector *)sink)->table, one));
    return shot_stage_line(sink, one, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    detector *self = (detector *)sink;
    self->table.cut = cut;
    SHOT_TRY(find_and_hand_on(self, error));
    return shot_stage_end(sink, cut, error);
}

static void release(shot_sink *sink) {
    detector *self = (detector *)sink;
    forget(self);
    free(self->state);
    free(self->column);
    shot_mark_list_free(&self->sent);
    shot_table_free(&self->table);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, mark, line, end, shot_stage_pause, shot_stage_close, release};

shot_status shot_detector_new_watching(const shot_making *making, const shot_watch *watch,
                                       shot_detect detect, shot_sink **out, shot_error *error) {
    shot_stage *stage = NULL;
    void *state = watch != NULL ? calloc(1, watch->size) : NULL;
    *out = NULL;
    if (watch != NULL && state == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a detector");
    shot_status status = shot_stage_new(making, &calls, sizeof(detector), &stage, error);
    if (status != SHOT_OK) {
        free(state);
        return status;
    }
    detector *self = (detector *)stage;
    self->detect = detect;
    self->watch = watch;
    self->state = state;
    *out = &stage->sink;
    return SHOT_OK;
}

shot_status shot_detector_new(const shot_making *making, shot_detect detect, shot_sink **out,
                              shot_error *error) {
    return shot_detector_new_watching(making, NULL, detect, out, error);
}

void shot_detector_latency(const void *settings, char *out, size_t room) {
    snprintf(out, room, "0 s for samples; marks come at the end of the shot");
}
