/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-pick: shots, channels and samples out of many. */
#include <shottrace/filter/pick.h>

#include <fnmatch.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/log_time.h>
#include <shottrace/trace/name_list.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/table.h>

#include "lack_of_memory.h"
#include "filter/pick_channels.h"
#include "filter/pick_where.h"
#include "filter/typed_time.h"

struct pick_settings {
    shot_texts where, shots, keep, drop, rename, phases;
    const char *from, *to;
    long first, every;
};

static const shot_option options[] = {
    {.letter = 'w',
     .name = "where",
     .kind = SHOT_OPTION_EACH,
     .field = offsetof(struct pick_settings, where),
     .argument = "CONDITION",
     .help = "shots that fit: grind=11, 'dose>=18g', 'score!=80'; = != < <= > >=, numbers with "
             "or without unit; given several times, all must fit"},
    {.letter = 's',
     .name = "shot",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct pick_settings, shots),
     .argument = "NAME,...",
     .help = "shots of these names; * and ? stand for any letters, as in a shell"},
    {.name = "every",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct pick_settings, every),
     .argument = "N",
     .initial = "1",
     .low = 1,
     .high = 1e9,
     .help = "of the shots that fit, the first one and every Nth after it"},
    {.name = "first",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct pick_settings, first),
     .argument = "N",
     .low = 1,
     .high = 1e9,
     .help = "of those, the first N"},
    {.letter = 'k',
     .name = "keep",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct pick_settings, keep),
     .only = "!drop",
     .argument = "NAME,...",
     .help = "channels to keep, besides time"},
    {.letter = 'd',
     .name = "drop",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct pick_settings, drop),
     .argument = "NAME,...",
     .help = "channels to leave out"},
    {.letter = 'r',
     .name = "rename",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct pick_settings, rename),
     .argument = "OLD=NEW,...",
     .help = "channels to call by another name; the names before it count for --keep"},
    {.name = "from",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct pick_settings, from),
     .argument = "TIME",
     .help = "rows from this time of the log's clock on; +2s counts from the first row"},
    {.name = "to",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct pick_settings, to),
     .argument = "TIME",
     .help = "rows up to this time"},
    {.letter = 'p',
     .name = "phase",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct pick_settings, phases),
     .argument = "KIND,...",
     .help = "rows within marks of these kinds: brew, soak, pulse ..."},
    {0}};

typedef struct picker {
    shot_stage stage;
    pick_condition *conditions;
    size_t *shot_met; /* how many shots each name of --shot matched */
    pick_channels channels;
    typed_time from, to;
    size_t came, fitted, picked, phaseless;
    bool open; /* the current shot is picked */
    char *shot;
    shot_decimal origin;
    double low, high;               /* rows wanted */
    double first, earliest, latest; /* of the rows that came; they may not be in order yet */
    size_t rows_out;
    shot_rows out;
    shot_table whole; /* with --phase: the shot, until its marks are known */
} picker;

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "a shot", error);
}

static const struct pick_settings *settings_of(const picker *self) {
    return self->stage.settings;
}

static bool by_phase(const picker *self) {
    return settings_of(self)->phases.count > 0;
}

/* ---- which shots ---- */

static bool has_name(picker *self, const char *name) {
    const shot_texts *names = &settings_of(self)->shots;
    bool fits = names->count == 0;
    for (size_t i = 0; i < names->count; i++)
        if (fnmatch(names->items[i], name, 0) == 0) {
            self->shot_met[i]++;
            fits = true;
        }
    return fits;
}

static shot_status decide(picker *self, const shot_head *head, shot_error *error) {
    const struct pick_settings *settings = settings_of(self);
    bool fits = has_name(self, head->name);
    for (size_t i = 0; i < settings->where.count; i++) {
        bool holds;
        SHOT_TRY(pick_condition_holds(&self->conditions[i], head, &holds, error));
        fits = fits && holds;
    }
    self->came++;
    self->open = fits && self->fitted % (size_t)settings->every == 0 &&
                 (settings->first == 0 || self->picked < (size_t)settings->first);
    self->fitted += fits;
    self->picked += self->open;
    return SHOT_OK;
}

/* ---- which rows ---- */

static shot_status settle_times(picker *self, double first) {
    const struct pick_settings *settings = settings_of(self);
    self->first = first;
    self->low = -INFINITY;
    self->high = INFINITY;
    if (settings->from != NULL)
        SHOT_TRY(typed_time_settle(&self->from, &self->origin, first, &self->low));
    return settings->to != NULL ? typed_time_settle(&self->to, &self->origin, first, &self->high)
                                : SHOT_OK;
}

static shot_status take_rows(picker *self, const shot_block *block, shot_rows *into) {
    for (size_t i = 0; i < block->rows; i++) {
        const double t = block->column[0][i];
        if (isnan(self->first))
            SHOT_TRY(settle_times(self, t));
        self->earliest = fmin(self->earliest, t);
        self->latest = fmax(self->latest, t);
        if (!(t >= self->low && t <= self->high))
            continue;
        SHOT_TRY(pick_channels_append(&self->channels, block, i, into));
        self->rows_out++;
    }
    return SHOT_OK;
}

/* ---- marks and lines ---- */

/* The mark with its channel under the name that it has now; *out is borrowed from both. */
static shot_mark renamed(const picker *self, const shot_mark *mark) {
    shot_mark out = *mark;
    const char *name = mark->channel ? pick_channels_name(&self->channels, mark->channel) : NULL;
    if (name != NULL)
        out.channel = (char *)name;
    return out;
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    picker *self = (picker *)sink;
    if (!self->open)
        return SHOT_OK;
    const shot_mark out = renamed(self, one);
    return by_phase(self) ? checked(shot_table_mark(&self->whole, &out), error)
                          : shot_sink_mark(self->stage.next, &out, error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    picker *self = (picker *)sink;
    bool drop;
    char *value;
    if (!self->open)
        return SHOT_OK;
    SHOT_TRY(checked(pick_channels_line(&self->channels, one, &drop, &value), error));
    const shot_line out = {one->key, value ? value : one->value};
    shot_status status = SHOT_OK;
    if (!drop)
        status = by_phase(self) ? checked(shot_table_line(&self->whole, &out), error)
                                : shot_sink_line(self->stage.next, &out, error);
    free(value);
    return status;
}

/* ---- a shot ---- */

static shot_status begin_whole(picker *self, shot_head *head) {
    if (self->stage.history != NULL)
        SHOT_TRY(shot_head_add_line(head, "history", self->stage.history));
    return shot_table_begin(&self->whole, head);
}

static shot_status begin_picked(picker *self, const shot_head *head, shot_error *error) {
    shot_head out;
    self->first = self->earliest = self->latest = NAN;
    self->rows_out = 0;
    free(self->shot);
    self->shot = shot_text_copy(head->name);
    if (self->shot == NULL)
        return SHOT_ERR_MEMORY;
    SHOT_TRY(shot_log_time_origin(head, &self->origin, error));
    SHOT_TRY(pick_channels_begin(&self->channels, head, &out, error));
    shot_rows_free(&self->out);
    shot_status status = shot_rows_init(&self->out, out.channel_count);
    if (status == SHOT_OK)
        status = by_phase(self) ? begin_whole(self, &out)
                                : shot_stage_begin(&self->stage.sink, &out, error);
    shot_head_free(&out);
    return status;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    picker *self = (picker *)sink;
    SHOT_TRY(decide(self, head, error));
    return self->open ? checked(begin_picked(self, head, error), error) : SHOT_OK;
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    picker *self = (picker *)sink;
    if (!self->open)
        return SHOT_OK;
    if (by_phase(self))
        return checked(take_rows(self, block, &self->whole.rows), error);
    shot_rows_clear(&self->out);
    SHOT_TRY(checked(take_rows(self, block, &self->out), error));
    const shot_block out = shot_rows_front(&self->out, self->out.rows);
    return out.rows > 0 ? shot_sink_rows(self->stage.next, &out, error) : SHOT_OK;
}

static bool in_list(const shot_texts *list, const char *text) {
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->items[i], text) == 0)
            return true;
    return false;
}

/* True if the instant is inside a mark of a kind that was asked for; one still open goes on. */
static bool in_phase(const picker *self, double t, bool *any) {
    const shot_mark_list *marks = &self->whole.marks;
    bool inside = false;
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *one = &marks->marks[i];
        if (!in_list(&settings_of(self)->phases, one->kind) || !shot_mark_list_stands(marks, i))
            continue;
        *any = true;
        inside = inside || (t >= one->from && (isnan(one->to) || t <= one->to));
    }
    return inside;
}

/* Move the rows inside the phases to the front and forget the others. */
static bool trim_to_phases(picker *self) {
    shot_rows *held = &self->whole.rows;
    size_t kept = 0;
    bool any = false;
    (void)in_phase(self, NAN, &any);
    for (size_t i = 0; any && i < held->rows; i++) {
        if (!in_phase(self, held->column[0][i], &any))
            continue;
        for (size_t c = 0; c < held->columns; c++)
            held->column[c][kept] = held->column[c][i];
        kept++;
    }
    held->rows = self->rows_out = kept;
    return any;
}

static shot_status say_if_empty(const picker *self) {
    if (self->rows_out > 0 || isnan(self->first))
        return SHOT_OK;
    shot_text text = {0};
    const shot_status status =
        shot_text_add_log_span(&text, self->earliest, self->latest, &self->origin);
    if (status == SHOT_OK)
        shot_notice_say(&self->stage.notice,
                        "shot '%s': none of its rows, which go from %s s, was wanted", self->shot,
                        text.bytes);
    shot_text_free(&text);
    return status;
}

static shot_status end_by_phase(picker *self, bool cut, shot_error *error) {
    if (!trim_to_phases(self)) {
        self->phaseless++;
        shot_notice_say(&self->stage.notice,
                        "shot '%s' has no mark of --phase and is left out; run its detector "
                        "(shot-segment) before",
                        self->shot);
        return SHOT_OK;
    }
    SHOT_TRY(checked(say_if_empty(self), error));
    self->whole.cut = cut;
    return shot_table_emit(&self->whole, self->stage.next, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    picker *self = (picker *)sink;
    if (!self->open)
        return SHOT_OK;
    if (by_phase(self))
        return end_by_phase(self, cut, error);
    SHOT_TRY(checked(say_if_empty(self), error));
    return shot_stage_end(sink, cut, error);
}

/* ---- the stream ends: what was asked for and never came ---- */

static void say_unmet(const picker *self) {
    const struct pick_settings *settings = settings_of(self);
    for (size_t i = 0; i < settings->shots.count; i++)
        if (self->shot_met[i] == 0)
            shot_notice_say(&self->stage.notice, "no shot is called '%s'",
                            settings->shots.items[i]);
    for (size_t i = 0; i < settings->where.count; i++)
        if (!self->conditions[i].met)
            shot_notice_say(&self->stage.notice, "no shot says '%s'", self->conditions[i].key);
    if (self->picked == 0)
        shot_notice_say(&self->stage.notice,
                        self->came == 1 ? "the only shot does not fit" : "none of %zu shots fits",
                        self->came);
}

static shot_status check_channels(const picker *self, shot_error *error) {
    const pick_channels *channels = &self->channels;
    for (size_t i = 0; i < channels->kept + channels->dropped + channels->renamed; i++) {
        const pick_name *one = &channels->names[i];
        const bool dropped = i >= channels->kept && i < channels->kept + channels->dropped;
        if (one->shots == 0 && !dropped)
            return shot_fail(error, SHOT_ERR_DATA, "no shot has a channel '%s'", one->old);
        if (one->shots < self->picked)
            shot_notice_say(&self->stage.notice, "%zu of %zu shot%s no channel '%s'",
                            self->picked - one->shots, self->picked,
                            self->picked == 1 ? " has" : "s have", one->old);
    }
    return SHOT_OK;
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    picker *self = (picker *)sink;
    if (!cut)
        say_unmet(self);
    if (!cut && self->picked > 0)
        SHOT_TRY(check_channels(self, error));
    if (!cut && self->phaseless > 0 && self->phaseless == self->picked)
        return shot_fail(error, SHOT_ERR_DATA, "no shot has a mark of --phase");
    return shot_stage_close(sink, cut, error);
}

static void release(shot_sink *sink) {
    picker *self = (picker *)sink;
    for (size_t i = 0; self->conditions != NULL && i < settings_of(self)->where.count; i++)
        pick_condition_free(&self->conditions[i]);
    free(self->conditions);
    free(self->shot_met);
    free(self->shot);
    pick_channels_free(&self->channels);
    shot_rows_free(&self->out);
    shot_table_free(&self->whole);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {begin, rows,   mark, line, end, shot_stage_pause,
                                      close, release};

/* ---- options ---- */

static shot_status read_time(const char *name, const char *text, typed_time *out,
                             shot_error *error) {
    const shot_status status = text == NULL ? SHOT_OK : typed_time_read(text, out);
    if (status == SHOT_OK || status == SHOT_ERR_MEMORY)
        return status;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--%s: '%s' is not a time; write 2s, or +2s from the first row", name, text);
}

static shot_status read_options(picker *self, shot_error *error) {
    const struct pick_settings *settings = settings_of(self);
    self->conditions = calloc(settings->where.count + 1, sizeof *self->conditions);
    self->shot_met = calloc(settings->shots.count + 1, sizeof *self->shot_met);
    if (self->conditions == NULL || self->shot_met == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < settings->where.count; i++)
        SHOT_TRY(pick_condition_read(settings->where.items[i], &self->conditions[i], error));
    SHOT_TRY(read_time("from", settings->from, &self->from, error));
    SHOT_TRY(read_time("to", settings->to, &self->to, error));
    if (settings->from && settings->to && typed_time_is_after(&self->from, &self->to))
        return shot_fail(error, SHOT_ERR_USAGE, "--from %s comes after --to %s", settings->from,
                         settings->to);
    return pick_channels_read(&settings->keep, &settings->drop, &settings->rename, &self->channels,
                              error);
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    shot_stage *stage = NULL;
    *out = NULL;
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(picker), &stage, error));
    const shot_status status = checked(read_options((picker *)stage, error), error);
    if (status != SHOT_OK)
        shot_sink_free(&stage->sink);
    else
        *out = &stage->sink;
    return status;
}

static void latency(const void *made, char *out, size_t room) {
    const struct pick_settings *settings = made;
    snprintf(out, room, "%s", settings->phases.count > 0 ? "until the end of the shot" : "0 s");
}

static const char *const examples[] = {
    "shot-pick --where grind=11 --where 'dose>=18g' < week.trace",
    "shot-pick --keep pressure,flow --from 2s --to 20s < shot.csv",
    "shot-segment < shot.csv | shot-pick --phase brew",
    "shot-pick --rename pressure=pump --shot 'quay-*' --first 10 < week.trace",
    NULL,
};

const shot_description shot_pick = {
    .name = "pick",
    .purpose = "pick shots, channels and samples",
    .details =
        "Shots by what they say about themselves or by name, channels by name, rows by time or by "
        "phase. What is asked for together must fit together. The key 'shot' is the name. A shot "
        "that says nothing about a key fits no condition on it but !=.\n"
        "Times are those of the log's own clock, as shot-marks prints them; +2s counts from the "
        "first row. All marks of a shot stay, at their times, also those outside the rows that "
        "are left; marks and noise of a renamed channel bear its new name. A channel that gets "
        "the name of a known one comes in its unit.\n"
        "What was asked for and never came is named on standard error; a channel to keep or to "
        "rename that no shot has is an error.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_ACROSS_SHOTS | SHOT_TRAIT_DISORDER | SHOT_TRAIT_PASSES_DISORDER,
    .settings_size = sizeof(struct pick_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
