/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Detectors for shots that none has seen.  Apart from chain.c, so that a tool that asks for no
 * preparation does not link them. */
#include <shottrace/chain/prepare.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain/chain.h>
#include <shottrace/chain/find.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

#include "lack_of_memory.h"
#include "chain/chain_parts.h"

typedef struct prepare_sink {
    shot_stage stage;
    shot_table shot;
    shot_chain *detectors; /* ends in the next sink */
} prepare_sink;

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "a shot", error);
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    return checked(shot_table_begin(&((prepare_sink *)sink)->shot, head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(&((prepare_sink *)sink)->shot, block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(&((prepare_sink *)sink)->shot, one), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(&((prepare_sink *)sink)->shot, one), error);
}

/* What a person marked with shot-tag has no level: the detectors take it as known, and find the
 * rest. */
static bool has_findings(const shot_table *shot) {
    static const char *const phases[] = {"preinfusion", "fill",    "soak",      "ramp",
                                         "brew",        "release", "first-drip"};
    const bool by_hand = shot_head_went_through(&shot->head, "shot-tag") > 0;
    for (size_t i = 0; i < sizeof phases / sizeof *phases; i++) {
        const shot_mark *one = shot_mark_list_last(&shot->marks, phases[i]);
        if (one != NULL && !(by_hand && isnan(one->level)))
            return true;
    }
    return shot_head_went_through(&shot->head, "shot-segment") > 0;
}

/* What shot-find does, but for the cleaning: the samples are taken as they came. */
static shot_status add_detectors(shot_text *text) {
    for (const char *const *part = shot_find.parts + 1; *part != NULL; part++)
        SHOT_TRY(shot_text_add_format(text, text->length > 0 ? " | %s" : "%s", *part));
    return SHOT_OK;
}

static shot_status need_detectors(prepare_sink *self, shot_error *error) {
    if (self->detectors != NULL)
        return SHOT_OK;
    shot_text text = {0};
    shot_chain_ends ends = {.sink = self->stage.next, .notice = self->stage.notice};
    shot_status status = checked(add_detectors(&text), error);
    if (status == SHOT_OK)
        status = shot_chain_new(text.bytes, &ends, &self->detectors, error);
    shot_text_free(&text);
    return status;
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    prepare_sink *self = (prepare_sink *)sink;
    shot_sink *first = self->stage.next;
    self->shot.cut = cut;
    if (!has_findings(&self->shot)) {
        SHOT_TRY(need_detectors(self, error));
        first = self->detectors->first;
    }
    return shot_table_emit(&self->shot, first, error);
}

static void release(shot_sink *sink) {
    prepare_sink *self = (prepare_sink *)sink;
    shot_table_free(&self->shot);
    shot_chain_free(self->detectors);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, mark, line, end, shot_stage_pause, shot_stage_close, release};

shot_status shot_prepare_new(shot_sink *next, const shot_notice *notice, shot_sink **out,
                             shot_error *error) {
    shot_making making = {.next = next, .notice = *notice};
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(&making, &calls, sizeof(prepare_sink), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}
