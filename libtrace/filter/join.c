/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-join: two logs of one shot with clocks of their own become one. */
#include <shottrace/filter/join.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <shottrace/trace/log_time.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/table_list.h>

#include "lack_of_memory.h"
#include "filter/clock_offset.h"
#include "filter/join_rows.h"
#include "trace/time_origin.h"

struct join_settings {
    double offset;
    const char *mark;
    bool fill;
};

static const shot_option options[] = {
    {.letter = 'o',
     .name = "offset",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct join_settings, offset),
     .argument = "TIME",
     .unit = "s",
     .low = -1e12,
     .high = 1e12,
     .help = "the clock of the first log less that of the second"},
    {.letter = 'm',
     .name = "mark",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct join_settings, mark),
     .argument = "KIND",
     .only = "!offset",
     .help = "the last mark of this kind is the same instant in both logs"},
    {.letter = 'f',
     .name = "fill",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct join_settings, fill),
     .help = "interpolate each channel where only the other log has a sample"},
    {0}};

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the logs", error);
}

/* ---- the source ---- */

typedef struct joiner {
    shot_source source;
    const struct join_settings *settings;
    const char *history;
    shot_sink *next;
    const shot_texts *operands;
    shot_loader loader;
    shot_table_collector logs[2];
} joiner;

static shot_status load(joiner *self, size_t which, shot_error *error) {
    const shot_texts one = {&self->operands->items[which], 1};
    const shot_intake intake = {.sink = &self->logs[which].sink};
    return self->loader.load(self->loader.user, &one, &intake, error);
}

static shot_status load_both(joiner *self, shot_error *error) {
    char **files = self->operands->items;
    SHOT_TRY(load(self, 0, error));
    SHOT_TRY(load(self, 1, error));
    if (self->logs[0].shots.count == self->logs[1].shots.count)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "'%.80s' has %zu shot%s and '%.80s' %zu; they are joined in their order, so "
                     "there must be as many",
                     files[0], self->logs[0].shots.count, self->logs[0].shots.count == 1 ? "" : "s",
                     files[1], self->logs[1].shots.count);
}

/* ---- the offset ---- */

/* The second log less the first one at time 0 of their traces, in s. */
static shot_status clocks_apart(const shot_table *a, const shot_table *b, shot_decimal *out,
                                shot_error *error) {
    shot_decimal of_a;
    SHOT_TRY(shot_log_time_origin(&a->head, &of_a, error));
    SHOT_TRY(shot_log_time_origin(&b->head, out, error));
    return shot_decimal_subtract(out, &of_a);
}

static shot_status offset_by_mark(const shot_table *a, const shot_table *b, const char *kind,
                                  shot_decimal *out, shot_error *error) {
    const shot_mark *in_a = shot_mark_list_last(&a->marks, kind);
    const shot_mark *in_b = shot_mark_list_last(&b->marks, kind);
    if (in_a == NULL || in_b == NULL)
        return shot_fail(error, SHOT_ERR_DATA,
                         "shot '%s': the %s log has no mark '%s'; add it with shot-tag or a "
                         "detector",
                         a->head.name, in_a == NULL ? "first" : "second", kind);
    shot_decimal of_b;
    SHOT_TRY(shot_decimal_from(in_b->from, &of_b));
    SHOT_TRY(shot_decimal_from(in_a->from, out));
    return shot_decimal_subtract(out, &of_b);
}

static shot_status estimate(shot_table *a, const shot_table *b, double apart, shot_decimal *out,
                            shot_error *error) {
    clock_offset found;
    const shot_status status = clock_offset_find(a, b, &found);
    if (status == SHOT_ERR_SINGULAR)
        return shot_fail(error, SHOT_ERR_DATA,
                         "shot '%s': nothing in the two logs tells how far apart their clocks are; "
                         "say it with --offset, or put a mark on both and use --mark",
                         a->head.name);
    SHOT_TRY(checked(status, error));
    SHOT_TRY(shot_decimal_from(round(1e3 * found.offset) / 1e3, out));
    shot_text text = {0};
    shot_status written = shot_text_add_format(
        &text,
        "shot-join: the second clock was put %.3f s later (95 %% interval %.3f to %.3f), by the %s "
        "of %s in the first log and %s in the second",
        found.offset - apart, found.low - apart, found.high - apart, found.alike ? "course" : "end",
        found.a, found.b);
    if (written == SHOT_OK && found.alike)
        written = shot_text_add_format(&text, ", correlation %.3f", found.correlation);
    if (written == SHOT_OK)
        written = shot_head_add_line(&a->head, "note", text.bytes);
    shot_text_free(&text);
    return checked(written, error);
}

/* By how much the times of the second trace are to be shifted. */
static shot_status offset_of(const joiner *self, shot_table *a, const shot_table *b,
                             shot_decimal *out, shot_error *error) {
    shot_decimal apart;
    if (self->settings->mark != NULL)
        return offset_by_mark(a, b, self->settings->mark, out, error);
    SHOT_TRY(clocks_apart(a, b, &apart, error));
    if (isnan(self->settings->offset))
        return estimate(a, b, shot_decimal_value(&apart), out, error);
    SHOT_TRY(shot_decimal_from(self->settings->offset, out));
    return shot_decimal_add(out, &apart);
}

static shot_status join_pair(const joiner *self, shot_table *a, shot_table *b, shot_error *error) {
    shot_table joined;
    shot_decimal offset = {{0}};
    SHOT_TRY(offset_of(self, a, b, &offset, error));
    shot_status status = join_tables(a, b, &offset, self->settings->fill, &joined);
    if (status != SHOT_OK)
        return shot_fail(error, status, "shot '%s': %s", a->head.name, shot_status_text(status));
    if (self->history != NULL)
        status = checked(time_origin_add_early_line(&joined, "history", self->history), error);
    if (status == SHOT_OK)
        status = shot_table_emit(&joined, self->next, error);
    shot_table_free(&joined);
    return status;
}

static shot_status finish(shot_source *source, shot_error *error) {
    joiner *self = (joiner *)source;
    bool cut = false;
    SHOT_TRY(load_both(self, error));
    const shot_table_list *a = &self->logs[0].shots, *b = &self->logs[1].shots;
    for (size_t i = 0; i < a->count; i++) {
        SHOT_TRY(join_pair(self, a->items[i], b->items[i], error));
        cut = cut || a->items[i]->cut || b->items[i]->cut;
    }
    return shot_sink_close(self->next, cut, error);
}

static shot_status file(shot_source *source, const char *name, shot_error *error) {
    return SHOT_OK;
}

static shot_status push(shot_source *source, const char *bytes, size_t count, shot_error *error) {
    return SHOT_OK;
}

static shot_status pause(shot_source *source, shot_error *error) {
    return SHOT_OK;
}

static void release(shot_source *source) {
    joiner *self = (joiner *)source;
    shot_table_collector_free(&self->logs[0]);
    shot_table_collector_free(&self->logs[1]);
    free(self);
}

static const shot_source_calls calls = {file, push, pause, finish, release, NULL};

/* ---- description ---- */

static shot_status make_source(const shot_making *making, shot_source **out, shot_error *error) {
    const struct join_settings *settings = making->settings;
    *out = NULL;
    if (making->operands->count != 2)
        return shot_fail(error, SHOT_ERR_USAGE, "%zu file%s named; name two logs of one shot",
                         making->operands->count, making->operands->count == 1 ? " is" : "s are");
    joiner *self = calloc(1, sizeof *self);
    if (self == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    shot_table_collector_init(&self->logs[0]);
    shot_table_collector_init(&self->logs[1]);
    self->source.calls = &calls;
    self->settings = settings;
    self->history = making->history;
    self->next = making->next;
    self->operands = making->operands;
    self->loader = making->loader;
    *out = &self->source;
    return SHOT_OK;
}

static void latency(const void *made, char *out, size_t room) {
    snprintf(out, room, "until the end of both logs");
}

static const char *const examples[] = {
    "shot-join gauge.csv scale.csv | shot-segment | shot-report",
    "shot-join --offset 2.4s gauge.csv scale.csv",
    "shot-read scale.txt | shot-join --mark first-drip gauge.trace -",
    NULL,
};

const shot_description shot_join = {
    .name = "join",
    .purpose = "two logs of one shot with clocks of their own become one",
    .details =
        "The second log is put onto the clock of the first one. Channels keep their own times: the "
        "result has a row for each instant of either log, and what the other one did not measure "
        "then is missing. A channel that both have comes twice, the second as NAME.2.\n"
        "How far apart the clocks are is said with --offset, shown by a mark that both logs have, "
        "or found: by a channel that both have, else by flow and what the scale shows, else by "
        "pressure and what the scale shows. A '# note:' tells it with its 95 % interval. Where "
        "nothing tells, it is an error. Files with several shots are joined in their order.",
    .operands = "FIRST SECOND",
    .examples = examples,
    .role = SHOT_ROLE_SOURCE,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_OWN_OPERANDS,
    .settings_size = sizeof(struct join_settings),
    .options = options,
    .make_source = make_source,
    .latency = latency,
};
