/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-tag: metadata and hand-made marks onto shots. */
#include <shottrace/filter/tag.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/head_key.h>
#include <shottrace/trace/log_time.h>
#include <shottrace/trace/mark_table.h>
#include <shottrace/trace/stage.h>

#include "lack_of_memory.h"
#include "filter/tag_mark.h"
#include "filter/tag_table.h"
#include "trace/near_word.h"

struct tag_settings {
    shot_texts set, mark, shots;
    const char *table, *marks;
};

static const shot_option options[] = {
    {.letter = 's',
     .name = "set",
     .kind = SHOT_OPTION_EACH,
     .field = offsetof(struct tag_settings, set),
     .argument = "KEY=VALUE",
     .help = "say something about every shot, as dose=18.2g or grind=11; may be given many times"},
    {.letter = 'm',
     .name = "mark",
     .kind = SHOT_OPTION_EACH,
     .field = offsetof(struct tag_settings, mark),
     .argument = "KIND=TIME",
     .help = "a mark made by hand: first-drip=7.4s, surge=20.1s..21s, 'note=12s:knocked the "
             "scale'; may be given many times"},
    {.letter = 't',
     .name = "table",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct tag_settings, table),
     .argument = "FILE",
     .help = "a table in CSV with a column 'shot', and a column for each key: shot,dose [g],grind; "
             "an empty field says nothing"},
    {.name = "marks",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct tag_settings, marks),
     .argument = "FILE",
     .help = "a table of marks in CSV, as shot-marks prints it; columns shot, kind and from "
             "suffice"},
    {.name = "shot",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct tag_settings, shots),
     .only = "set|mark",
     .argument = "NAME,...",
     .help = "--set and --mark only for these shots"},
    {0}};

/* KEY=VALUE, checked. */
typedef struct pair {
    shot_text key, value;
} pair;

typedef struct tagger {
    shot_stage stage;
    pair *pairs;
    tag_mark *made;
    tag_table table;
    shot_mark_table marks;
    shot_name_list only;
    shot_name_sample rowless; /* shots that the table does not know */
    char *shot;
    shot_decimal origin;
    double first;     /* time of the shot's first row */
    double low, high; /* between which its rows lie; they may not be in order yet */
    bool chosen;      /* the shot gets what the options say */
    shot_mark_list seen;
} tagger;

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "marks and facts", error);
}

/* ---- a shot begins ---- */

static shot_status add_facts(tagger *self, shot_head *head) {
    const struct tag_settings *settings = self->stage.settings;
    size_t count;
    bool found = true;
    self->chosen =
        settings->shots.count == 0 || shot_name_list_find(&self->only, head->name, &count) != NULL;
    if (settings->table != NULL)
        SHOT_TRY(tag_table_apply(&self->table, head, &found));
    if (!found)
        SHOT_TRY(shot_name_sample_add(&self->rowless, head->name));
    for (size_t i = 0; self->chosen && i < settings->set.count; i++)
        SHOT_TRY(shot_head_set_value(head, self->pairs[i].key.bytes, self->pairs[i].value.bytes));
    return SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    tagger *self = (tagger *)sink;
    shot_head tagged;
    shot_mark_list_clear(&self->seen);
    self->first = self->low = self->high = NAN;
    SHOT_TRY(shot_log_time_origin(head, &self->origin, error));
    free(self->shot);
    self->shot = shot_text_copy(head->name);
    shot_status status = self->shot != NULL ? shot_head_copy(head, &tagged) : SHOT_ERR_MEMORY;
    if (status != SHOT_OK)
        return checked(status, error);
    status = checked(add_facts(self, &tagged), error);
    if (status == SHOT_OK)
        status = shot_stage_begin(sink, &tagged, error);
    shot_head_free(&tagged);
    return status;
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    tagger *self = (tagger *)sink;
    for (size_t i = 0; i < block->rows; i++) {
        const double time = block->column[0][i];
        self->first = isnan(self->first) ? time : self->first;
        self->low = fmin(self->low, time);
        self->high = fmax(self->high, time);
    }
    return shot_stage_rows(sink, block, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    SHOT_TRY(checked(shot_mark_list_add(&((tagger *)sink)->seen, one), error));
    return shot_stage_mark(sink, one, error);
}

/* ---- a shot ends: its marks ---- */

static bool id_is_free(const shot_mark_list *list, const char *id) {
    for (size_t i = 0; i < list->count; i++)
        if (list->marks[i].id != NULL && strcmp(list->marks[i].id, id) == 0)
            return false;
    return true;
}

/* Hand on a mark with an id that no other of the shot has. */
static shot_status hand_on_mark(tagger *self, shot_mark *one, shot_error *error) {
    if (one->id == NULL || !id_is_free(&self->seen, one->id)) {
        free(one->id);
        SHOT_TRY(checked(shot_mark_list_id_for(&self->seen, one->kind, &one->id), error));
    }
    const bool begins = one->from < self->low || one->from > self->high;
    if (begins || one->to > self->high)
        shot_notice_say(&self->stage.notice,
                        "shot '%s': the mark '%s' %s %g s lies outside its rows, which go from %g "
                        "to %g s",
                        self->shot, one->kind, begins ? "at" : "up to",
                        begins ? one->from : one->to, self->low, self->high);
    SHOT_TRY(checked(shot_mark_list_add(&self->seen, one), error));
    return shot_sink_mark(self->stage.next, one, error);
}

static shot_status add_made_marks(tagger *self, shot_error *error) {
    const struct tag_settings *settings = self->stage.settings;
    for (size_t i = 0; self->chosen && i < settings->mark.count; i++) {
        shot_mark one;
        shot_status status = tag_mark_settle(&self->made[i], &self->origin, self->first, &one);
        if (status == SHOT_ERR_SINGULAR) {
            shot_notice_say(&self->stage.notice, "shot '%s' has no row that '%s' could count from",
                            self->shot, settings->mark.items[i]);
            continue;
        }
        SHOT_TRY(checked(status, error));
        status = hand_on_mark(self, &one, error);
        shot_mark_free(&one);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

/* A mark refines by id; where that mark of the table got another id, its new one. */
static shot_status follow_id(const tagger *self, const shot_named *rows_of, size_t count,
                             size_t first_id, shot_mark *one) {
    for (size_t i = 0; one->refines != NULL && i < count; i++) {
        const char *id = self->marks.rows[rows_of[i].index].mark.id;
        if (id == NULL || strcmp(id, one->refines) != 0)
            continue;
        free(one->refines);
        one->refines = shot_text_copy(self->seen.marks[first_id + i].id);
        return one->refines != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    }
    return SHOT_OK;
}

static shot_status add_table_marks(tagger *self, shot_error *error) {
    size_t count;
    const shot_named *of = shot_name_list_find(&self->marks.shots, self->shot, &count);
    const size_t first_id = self->seen.count;
    for (size_t i = 0; i < count; i++) {
        shot_mark one;
        SHOT_TRY(checked(shot_mark_row_settle(&self->marks.rows[of[i].index], &self->origin, &one),
                         error));
        shot_status status = checked(follow_id(self, of, i, first_id, &one), error);
        if (status == SHOT_OK)
            status = hand_on_mark(self, &one, error);
        shot_mark_free(&one);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    tagger *self = (tagger *)sink;
    SHOT_TRY(add_made_marks(self, error));
    SHOT_TRY(add_table_marks(self, error));
    return shot_stage_end(sink, cut, error);
}

/* ---- the stream ends: what found no shot ---- */

static shot_status say_unmet(tagger *self, const shot_name_list *list, const char *where) {
    shot_name_sample unmet = {0};
    const shot_status status = shot_name_sample_add_unmet(&unmet, list);
    if (unmet.count > 0)
        shot_notice_say(&self->stage.notice, "%s: no shot is called %s", where,
                        shot_name_sample_text(&unmet));
    shot_name_sample_free(&unmet);
    return status;
}

static shot_status say_all_unmet(tagger *self) {
    const struct tag_settings *settings = self->stage.settings;
    SHOT_TRY(say_unmet(self, &self->only, "--shot"));
    SHOT_TRY(say_unmet(self, &self->table.shots, settings->table));
    SHOT_TRY(say_unmet(self, &self->marks.shots, settings->marks));
    if (self->rowless.count > 0)
        shot_notice_say(&self->stage.notice, "%s has no row for %s", settings->table,
                        shot_name_sample_text(&self->rowless));
    return SHOT_OK;
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    if (!cut)
        SHOT_TRY(checked(say_all_unmet((tagger *)sink), error));
    return shot_stage_close(sink, cut, error);
}

static void release(shot_sink *sink) {
    tagger *self = (tagger *)sink;
    const struct tag_settings *settings = self->stage.settings;
    for (size_t i = 0; self->pairs != NULL && i < settings->set.count; i++) {
        shot_text_free(&self->pairs[i].key);
        shot_text_free(&self->pairs[i].value);
    }
    for (size_t i = 0; self->made != NULL && i < settings->mark.count; i++)
        tag_mark_free(&self->made[i]);
    free(self->pairs);
    free(self->made);
    free(self->shot);
    tag_table_free(&self->table);
    shot_mark_table_free(&self->marks);
    shot_name_list_free(&self->only);
    shot_name_sample_free(&self->rowless);
    shot_mark_list_free(&self->seen);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {begin, rows,   mark, shot_stage_line, end, shot_stage_pause,
                                      close, release};

/* ---- options ---- */

static shot_status read_pair(const char *text, pair *out, shot_error *error) {
    const char *equals = strchr(text, '=');
    if (equals == NULL)
        return shot_fail(error, SHOT_ERR_USAGE, "--set: '%s' is not KEY=VALUE, as dose=18.2g",
                         text);
    SHOT_TRY(shot_text_add_bytes(&out->key, text, (size_t)(equals - text)));
    SHOT_TRY(shot_head_key_check(out->key.bytes, error));
    return shot_head_key_value(out->key.bytes, equals + 1, &out->value, error);
}

/* What can be read, and is hardly so. */
static shot_status doubt_value(const tagger *self, const char *where, const char *key,
                               const char *value) {
    shot_error doubt = {0};
    if (shot_head_key_judge(key, value, &doubt) == SHOT_ERR_MEMORY)
        return SHOT_ERR_MEMORY;
    if (doubt.what[0] != '\0')
        shot_notice_say(&self->stage.notice, "%s: %s", where, doubt.what);
    return SHOT_OK;
}

/* Those of a table at once, each where it stands. */
static shot_status doubt_table(const tagger *self) {
    const tag_table *table = &self->table;
    for (size_t r = 0; r < table->shots.count; r++)
        for (size_t i = 0; i < table->header.count; i++)
            if (table->rows[r].values[i] != NULL)
                SHOT_TRY(doubt_value(self, table->name, table->header.field[i],
                                     table->rows[r].values[i]));
    return SHOT_OK;
}

static shot_status usage(shot_status status, const char *option, shot_error *error) {
    if (status != SHOT_ERR_SYNTAX && status != SHOT_ERR_UNIT)
        return status;
    const shot_error before = error ? *error : (shot_error){0};
    return shot_fail(error, SHOT_ERR_USAGE, "%s: %.380s", option, before.what);
}

static shot_status read_options(tagger *self, shot_error *error) {
    const struct tag_settings *settings = self->stage.settings;
    self->pairs = calloc(settings->set.count + 1, sizeof *self->pairs);
    self->made = calloc(settings->mark.count + 1, sizeof *self->made);
    if (self->pairs == NULL || self->made == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < settings->set.count; i++) {
        SHOT_TRY(usage(read_pair(settings->set.items[i], &self->pairs[i], error), "--set", error));
        SHOT_TRY(doubt_value(self, "--set", self->pairs[i].key.bytes, self->pairs[i].value.bytes));
    }
    for (size_t i = 0; i < settings->mark.count; i++)
        SHOT_TRY(tag_mark_read(settings->mark.items[i], &self->made[i], error));
    for (size_t i = 0; i < settings->shots.count; i++)
        SHOT_TRY(shot_name_list_add(&self->only, settings->shots.items[i]));
    shot_name_list_sort(&self->only);
    return SHOT_OK;
}

static shot_status take_fact(void *user, const char *line, size_t length, shot_error *error) {
    return tag_table_add_line(&((tagger *)user)->table, line, length, error);
}

static shot_status take_mark(void *user, const char *line, size_t length, shot_error *error) {
    return shot_mark_table_add_line(&((tagger *)user)->marks, line, length, error);
}

static shot_status load(tagger *self, const shot_loader *loader, const char *path,
                        shot_status (*take)(void *, const char *, size_t, shot_error *),
                        shot_error *error) {
    char *items[] = {(char *)path};
    const shot_texts one = {items, 1};
    const shot_intake into = {.line = take, .user = self, .table = ""};
    return path != NULL ? loader->load(loader->user, &one, &into, error) : SHOT_OK;
}

/* ---- slips ---- */

/* Any kind may be a person's own; one that is a letter off from what filters know is a slip. */
static void hint_at_kind(const tagger *self, const char *kind) {
    static const char *const known[] = {
        "preinfusion", "fill",   "soak",       "ramp", "brew",  "release", "knee",  "surge",
        "pulse",       "ripple", "first-drip", "gap",  "spike", "clip",    "stuck", "note"};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (near_word(kind, known[i])) {
            shot_notice_say(&self->stage.notice,
                            "no filter knows marks of the kind '%s', which stay as they are; is it "
                            "'%s'?",
                            kind, known[i]);
            return;
        }
}

static const char *kind_at(const tagger *self, size_t i) {
    const struct tag_settings *settings = self->stage.settings;
    return i < settings->mark.count ? self->made[i].kind
                                    : self->marks.rows[i - settings->mark.count].mark.kind;
}

/* Each kind once. */
static void hint_at_kinds(const tagger *self) {
    const struct tag_settings *settings = self->stage.settings;
    for (size_t i = 0; i < settings->mark.count + self->marks.count; i++) {
        size_t first = 0;
        while (strcmp(kind_at(self, first), kind_at(self, i)) != 0)
            first++;
        if (first == i)
            hint_at_kind(self, kind_at(self, i));
    }
}

static shot_status load_tables(tagger *self, const shot_loader *loader, shot_error *error) {
    const struct tag_settings *settings = self->stage.settings;
    self->table.name = settings->table;
    SHOT_TRY(load(self, loader, settings->table, take_fact, error));
    SHOT_TRY(load(self, loader, settings->marks, take_mark, error));
    hint_at_kinds(self);
    shot_name_list_sort(&self->marks.shots);
    const char *bad = settings->marks && self->marks.header.count == 0 ? settings->marks : NULL;
    shot_status status = SHOT_OK;
    if (bad != NULL)
        status =
            shot_fail(error, SHOT_ERR_DATA, "the table is empty; its first line names columns");
    else if (settings->table != NULL && (bad = settings->table) != NULL) {
        if (self->table.others.length > 0)
            shot_notice_say_lines(&self->stage.notice, NULL, self->table.others.bytes);
        status = tag_table_finish(&self->table, error);
        if (status == SHOT_OK)
            status = doubt_table(self);
    }
    if (status != SHOT_OK && error != NULL)
        snprintf(error->source, sizeof error->source, "%s", bad);
    return status;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    shot_stage *stage = NULL;
    *out = NULL;
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(tagger), &stage, error));
    shot_status status = checked(read_options((tagger *)stage, error), error);
    if (status == SHOT_OK)
        status = checked(load_tables((tagger *)stage, &making->loader, error), error);
    if (status != SHOT_OK)
        shot_sink_free(&stage->sink);
    else
        *out = &stage->sink;
    return status;
}

static const char *const examples[] = {
    "shot-tag --set dose=18.2g --set score=82 < shot.csv",
    "shot-tag --mark first-drip=7.4s < shot.csv | shot-marks",
    "shot-tag --table notes.csv --marks annotated.csv < week.trace",
    NULL,
};

static void latency(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(out, room, "0 s for samples; marks at the end of the shot");
}

const shot_description shot_tag = {
    .name = "tag",
    .purpose = "put metadata and hand-made marks onto shots",
    .details =
        "What is said takes the place of what the shot said before; an option counts more than the "
        "table. Dose, basket, bed, gauge.lag, scale.lag, tds and score are read with their units; "
        "any other "
        "key is your own.\n"
        "Times are those of the log's own clock, as shot-marks prints them, so that an epoch can "
        "be written as it stands in the log; +7.4s counts from the first row, as a stopwatch "
        "does. Marks come at the end of their shot, and an id that is taken is changed.\n"
        "Shots of a table that do not come, and shots that have no row in it, are named on "
        "standard error.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_ACROSS_SHOTS | SHOT_TRAIT_DISORDER | SHOT_TRAIT_PASSES_DISORDER,
    .settings_size = sizeof(struct tag_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
