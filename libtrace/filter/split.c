/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-split: a continuous log becomes shots. */
#include <shottrace/filter/split.h>

#include <math.h>
#include <string.h>

#include <shottrace/trace/log_time.h>

#include "lack_of_memory.h"
#include "filter/split_parts.h"
#include "plain_format.h"
#include "trace/time_origin.h"

static const shot_option options[] = {
    {.letter = 'g',
     .name = "gap",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct split_settings, gap),
     .argument = "TIME",
     .unit = "s",
     .initial = "45s",
     .low = 1,
     .high = 600,
     .help = "the longest soak with the water shut off; what runs later is another event"},
    {.name = "lead",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct split_settings, lead),
     .argument = "TIME",
     .unit = "s",
     .low = 0,
     .high = 60,
     .help =
         "rows to keep from before the water came on (default 2s; 10s where no flow tells when, "
         "25s where only the weight does)"},
    {.name = "tail",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct split_settings, tail),
     .argument = "TIME",
     .unit = "s",
     .initial = "5s",
     .low = 0,
     .high = 600,
     .help = "rows to keep from after the shot, while the last drops fall"},
    {.letter = 'n',
     .name = "name",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct split_settings, name),
     .argument = "HOW",
     .choices = "order|time",
     .initial = "order",
     .help = "what follows the name of the log: a number, or the time at which the shot began"},
    {.letter = 'a',
     .name = "also",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct split_settings, also),
     .argument = "flush,cleaning",
     .help = "hand on these too, marked by '# kind:'"},
    {.letter = 'e',
     .name = "explain",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct split_settings, explain),
     .help = "say on standard error what each event was taken for"},
    {0}};

/* Held at most: an event that has shown no puck after so long is none, and 2 MiB of rows. */
static const double most_held = 120;
enum { MOST_BYTES = 2 * 1024 * 1024 };

static const struct split_settings *settings_of(const splitter *self) {
    return self->stage.settings;
}

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "a window", error);
}

/* ---- events end ---- */

static bool is_asked_for(const splitter *self, const char *kind) {
    const shot_texts *also = &settings_of(self)->also;
    for (size_t i = 0; i < also->count; i++)
        if (strcmp(also->items[i], kind) == 0)
            return true;
    return false;
}

/* The event that ended at `last_off` was no shot. */
static shot_status leave(splitter *self, shot_error *error) {
    const char *kind = self->blind ? "cleaning" : "flush";
    SHOT_TRY(checked(split_say(self, kind, self->event, self->last_off), error));
    self->state = SPLIT_REST;
    if (!is_asked_for(self, kind))
        return SHOT_OK;
    SHOT_TRY(split_begin_shot(self, kind, error));
    SHOT_TRY(split_pass_rows(self, self->last_off + settings_of(self)->tail, error));
    return split_end_shot(self, false, error);
}

/* The shot has its rows up to the tail, or to where something else began. */
static shot_status end_shot(splitter *self, bool cut, shot_error *error) {
    const double tail = self->shot_off + settings_of(self)->tail;
    const double next = self->watch.run.on > self->shot_off ? self->watch.run.on : INFINITY;
    SHOT_TRY(checked(split_say(self, "shot", self->event, self->shot_off), error));
    self->state = SPLIT_REST;
    SHOT_TRY(split_pass_rows(self, fmin(tail, nextafter(next, -INFINITY)), error));
    return split_end_shot(self, cut, error);
}

/* Rows of a shot pass; those that may be the start of something else wait. */
static shot_status pass(splitter *self, shot_error *error) {
    const split_watch *watch = &self->watch;
    const bool waits = !watch->running && !isnan(watch->above);
    return split_pass_rows(self, waits ? nextafter(watch->above, -INFINITY) : INFINITY, error);
}

static shot_status go_on(splitter *self, shot_error *error) {
    self->state = SPLIT_SHOT;
    self->shot_off = self->watch.run.off;
    return pass(self, error);
}

static void begin_event(splitter *self) {
    self->state = SPLIT_MAYBE;
    self->event = self->watch.run.on;
    self->last_off = self->watch.run.off;
    self->met = self->blind = self->complete = false;
    self->cleaned = true;
}

/* ---- what a row decides ---- */

/* Before it is known: what ran before was something else if this run has a fill of its own. */
static shot_status look_at_maybe(splitter *self, shot_error *error) {
    const split_watch *watch = &self->watch;
    const bool later = watch->running && watch->run.on > self->last_off;
    const bool apart = !self->met || self->blind; /* what ran before was no pre-wetting */
    if (later && ((apart && split_run_has_own_fill(watch)) ||
                  (self->cleaned && split_run_has_puck(watch)))) {
        SHOT_TRY(leave(self, error));
        begin_event(self);
    }
    if (!watch->running) {
        self->met = self->met || watch->run.resisted;
        self->blind = self->blind || split_run_is_blind(watch);
        self->cleaned = self->cleaned && split_run_was_cleaning(watch);
    }
    if (split_run_is_shot(watch)) {
        self->complete = split_run_is_complete(watch);
        SHOT_TRY(split_begin_shot(self, NULL, error));
        return go_on(self, error);
    }
    if (!watch->running && watch->time - self->last_off > settings_of(self)->gap)
        return leave(self, error);
    const bool full = self->held.rows * self->held.columns * sizeof(double) > MOST_BYTES;
    if (full || watch->time - self->event > most_held + settings_of(self)->gap) {
        self->last_off = watch->time;
        return leave(self, error);
    }
    return SHOT_OK;
}

static shot_status look_at_shot(splitter *self, bool started, shot_error *error) {
    const split_watch *watch = &self->watch;
    if (started && self->complete) {
        SHOT_TRY(end_shot(self, false, error));
        begin_event(self);
        return SHOT_OK;
    }
    self->shot_off = watch->run.off;
    self->complete = self->complete || split_run_is_complete(watch);
    if (watch->running || watch->time <= self->shot_off + settings_of(self)->tail)
        return SHOT_OK;
    if (self->complete)
        return end_shot(self, false, error);
    self->state = SPLIT_AFTER;
    return SHOT_OK;
}

static shot_status look_after(splitter *self, bool started, shot_error *error) {
    const split_watch *watch = &self->watch;
    if (started)
        self->state = SPLIT_TEST;
    else if (split_run_is_complete(watch) || watch->time - self->shot_off > settings_of(self)->gap)
        return end_shot(self, false, error);
    return SHOT_OK;
}

/* Water runs again: it goes on, or it has nothing to do with the shot. */
static shot_status look_at_test(splitter *self, bool stopped, shot_error *error) {
    const split_watch *watch = &self->watch;
    if (watch->run.resisted || split_run_is_shot(watch))
        return go_on(self, error);
    if (!stopped)
        return SHOT_OK;
    SHOT_TRY(end_shot(self, false, error));
    begin_event(self);
    return SHOT_OK;
}

static shot_status decide(splitter *self, bool started, bool stopped, shot_error *error) {
    switch (self->state) {
    case SPLIT_REST:
        if (started)
            begin_event(self);
        return SHOT_OK;
    case SPLIT_MAYBE:
        return look_at_maybe(self, error);
    case SPLIT_SHOT:
        return look_at_shot(self, started, error);
    case SPLIT_AFTER:
        return look_after(self, started, error);
    case SPLIT_TEST:
        return look_at_test(self, stopped, error);
    }
    return SHOT_OK;
}

static double value_of(const splitter *self, const shot_block *block, size_t row, size_t which) {
    const size_t column = self->columns[which];
    return column > 0 ? block->column[column][row] : NAN;
}

static shot_status take_row(splitter *self, const shot_block *block, size_t row,
                            shot_error *error) {
    const double t = block->column[0][row];
    bool started, stopped;
    if (self->state == SPLIT_REST)
        split_drop_before(self, t - self->lead - 2);
    SHOT_TRY(checked(shot_rows_append_one(&self->held, block, row), error));
    split_watch_push(&self->watch, t, value_of(self, block, row, 0), value_of(self, block, row, 1),
                     value_of(self, block, row, 2), &started, &stopped);
    if (stopped)
        self->last_off = self->watch.run.off;
    return checked(decide(self, started, stopped, error), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    splitter *self = (splitter *)sink;
    for (size_t i = 0; i < block->rows; i++)
        SHOT_TRY(take_row(self, block, i, error));
    return self->state == SPLIT_SHOT ? checked(pass(self, error), error) : SHOT_OK;
}

/* ---- a log ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    static const char *const names[] = {"pressure", "flow", "weight"};
    splitter *self = (splitter *)sink;
    SHOT_TRY(shot_log_time_origin(head, &self->clock, error));
    shot_head_free(&self->head);
    shot_rows_free(&self->held);
    shot_rows_free(&self->out);
    SHOT_TRY(checked(shot_head_copy(head, &self->head), error));
    SHOT_TRY(checked(shot_rows_init(&self->held, head->channel_count), error));
    SHOT_TRY(checked(shot_rows_init(&self->out, head->channel_count), error));
    for (size_t i = 0; i < 3; i++) {
        const ptrdiff_t column = shot_head_channel(head, names[i]);
        self->columns[i] = column > 0 ? (size_t)column : 0;
    }
    if (self->columns[0] + self->columns[1] + self->columns[2] == 0)
        return shot_fail(error, SHOT_ERR_DATA,
                         "log '%s' has neither pressure nor flow nor weight; nothing tells its "
                         "shots",
                         head->name);
    split_watch_init(&self->watch, self->columns[0] > 0, self->columns[1] > 0,
                     self->columns[2] > 0);
    self->lead = settings_of(self)->lead;
    if (isnan(self->lead))
        self->lead = self->columns[1] > 0 ? 2 : self->columns[0] > 0 ? 10 : 25;
    self->state = SPLIT_REST;
    self->number = self->lost_marks = 0;
    self->last_off = NAN;
    return SHOT_OK;
}

/* Marks go with the shot that is held or open; one of a shot that has gone comes too late. */
static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    splitter *self = (splitter *)sink;
    const double start = self->open ? self->event : self->held.rows ? self->held.column[0][0] : NAN;
    if (!(one->from >= start - self->lead)) {
        self->lost_marks++;
        return SHOT_OK;
    }
    SHOT_TRY(checked(shot_mark_list_add(&self->marks, one), error));
    return self->state == SPLIT_SHOT ? checked(pass(self, error), error) : SHOT_OK;
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    splitter *self = (splitter *)sink;
    SHOT_TRY(checked(shot_head_add_line(&self->head, one->key, one->value), error));
    return self->open ? shot_sink_line(self->stage.next, one, error) : SHOT_OK;
}

static shot_status finish_event(splitter *self, bool cut, shot_error *error) {
    if (self->watch.running)
        self->last_off = self->watch.time;
    if (self->state == SPLIT_SHOT && self->watch.running)
        self->shot_off = self->watch.time;
    if (self->state == SPLIT_MAYBE)
        return leave(self, error);
    if (self->state == SPLIT_TEST) { /* too short to show anything */
        SHOT_TRY(end_shot(self, false, error));
        begin_event(self);
        self->last_off = self->watch.time;
        return leave(self, error);
    }
    return self->state == SPLIT_REST ? SHOT_OK : end_shot(self, cut, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    splitter *self = (splitter *)sink;
    if (self->open)
        SHOT_TRY(checked(split_pass_rows(self, -INFINITY, error), error));
    SHOT_TRY(checked(finish_event(self, cut, error), error));
    self->lost_marks += self->marks.count;
    shot_mark_list_clear(&self->marks);
    if (self->lost_marks > 0)
        shot_notice_say(&self->stage.notice,
                        "log '%s': %zu mark%s came when %s shot had gone, and %s lost; run "
                        "shot-split before what marks",
                        self->head.name, self->lost_marks, shot_plural(self->lost_marks),
                        self->lost_marks == 1 ? "its" : "their",
                        self->lost_marks == 1 ? "is" : "are");
    return SHOT_OK;
}

static void release(shot_sink *sink) {
    splitter *self = (splitter *)sink;
    shot_head_free(&self->head);
    shot_rows_free(&self->held);
    shot_rows_free(&self->out);
    shot_mark_list_free(&self->marks);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, mark, line, end, shot_stage_pause, shot_stage_close, release};

/* ---- description ---- */

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct split_settings *settings = making->settings;
    shot_stage *stage = NULL;
    *out = NULL;
    for (size_t i = 0; i < settings->also.count; i++)
        if (strcmp(settings->also.items[i], "flush") != 0 &&
            strcmp(settings->also.items[i], "cleaning") != 0)
            return shot_fail(error, SHOT_ERR_USAGE, "--also: '%s' is neither flush nor cleaning",
                             settings->also.items[i]);
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(splitter), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

static void latency(const void *made, char *out, size_t room) {
    const struct split_settings *settings = made;
    shot_format(out, room,
                "until a shot shows itself, at most %g s; then 0 s, and up to %g s in a soak",
                most_held + settings->gap, settings->gap);
}

static const char *const examples[] = {
    "shot-split day.csv | shot-segment | shot-report --wide",
    "shot-split --name time --also cleaning --explain < day.csv > day.trace",
    NULL,
};

const shot_description shot_split = {
    .name = "split",
    .purpose = "cut a continuous log into shots",
    .details =
        "A shot begins when water comes on and shows itself by what a puck does: water goes "
        "through under pressure, less than through an open group, or beverage comes, or pressure "
        "stands for 20 s. It ends when the water has been shut off and the shot was pulled: 8 s "
        "of brewing pressure, 12 g in the cup, or the cup taken away. Until then it may go on "
        "after a soak (--gap). Water without pressure is a flush, pressure without water "
        "cleaning; both are left out, as is what lies between.\n"
        "Time 0 of each shot is when its water came on; '# t0:' keeps the log's own clock. It "
        "works "
        "on a log that is still growing. The less the log has of pressure, flow and weight, the "
        "less can be told apart: docs/split.md says what.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .traits = SHOT_TRAIT_ACROSS_SHOTS,
    .settings_size = sizeof(struct split_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
