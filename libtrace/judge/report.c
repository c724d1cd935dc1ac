/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot, one summary. */
#include <shottrace/judge/report.h>
#include <shottrace/trace/stage.h>

#include <stdlib.h>

#include "judge/report_parts.h"
#include "judge/words.h"

enum { PAGE, CSV, JSON };

struct report_settings {
    int format;
    bool wide, intervals, no_advice, codebook;
    shot_texts keys;
    const char *wanted;
};

/* More would not be read, and each shot is changed in one thing at a time. */
enum { MOST_ADVICE = 3 };

static const shot_option options[] = {
    {.name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct report_settings, format),
     .argument = "NAME",
     .choices = "page|csv|json",
     .initial = "page",
     .help = "a page for a person, or the measures as CSV or JSON lines"},
    {.name = "wide",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct report_settings, wide),
     .help = "CSV with one row a shot and a column a measure"},
    {.name = "intervals",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct report_settings, intervals),
     .only = "wide",
     .help = "behind each measure the ends of its 95 % interval, as NAME.low and "
             "NAME.high, and in the last column what is noted of measures"},
    {.name = "key",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct report_settings, keys),
     .argument = "NAME,...",
     .only = "wide",
     .help = "a column for this metadata key, as the log has it (grind)"},
    {.name = "no-advice",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct report_settings, no_advice),
     .only = "format=page,!wide",
     .help = "leave out what to try next"},
    {.name = "codebook",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct report_settings, codebook),
     .help = "print what the measures are (CSV: measure, column of --wide, unit, what a page calls "
             "it, group, meaning), and stop"},
    {.letter = 'w',
     .name = "wanted",
     .kind = SHOT_OPTION_FILE,
     .field = offsetof(struct report_settings, wanted),
     .argument = "FILE",
     .help = "a trace whose pressure and flow the shots should have kept to, from the moment the "
             "water enters (its preinfusion mark, else its time 0); one of shot-average will do. "
             "Channels wanted.* of a shot itself go before it"},
    {0}};

/* Takes the one shot that others are compared with. */
typedef struct wanted_sink {
    shot_sink sink;
    shot_table table;
    size_t shots;
} wanted_sink;

typedef struct report_sink {
    shot_sink sink;
    const struct report_settings *settings;
    const shot_output *output;
    shot_loader loader;
    wanted_sink wanted;
    shot_table table;
    shot_text text;
    bool header_done;
} report_sink;

static shot_status out_of_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the report");
}

static shot_status checked(shot_status status, shot_error *error) {
    return status == SHOT_ERR_MEMORY ? out_of_memory(error) : status;
}

static shot_report_wide wide_of(const struct report_settings *settings) {
    return (shot_report_wide){.keys = &settings->keys, .intervals = settings->intervals};
}

static shot_status add_header(report_sink *self) {
    const shot_report_wide wide = wide_of(self->settings);
    if (self->header_done)
        return SHOT_OK;
    self->header_done = true;
    if (self->settings->wide)
        return shot_report_write_wide_header(&wide, &self->text);
    return self->settings->format == CSV ? shot_report_write_long_header(&self->text) : SHOT_OK;
}

static shot_status write_shot(report_sink *self, const shot_measure_list *measures) {
    const shot_table *shot = &self->table;
    const shot_report_wide wide = wide_of(self->settings);
    SHOT_TRY(add_header(self));
    if (self->settings->wide)
        return shot_report_write_wide(shot, &wide, measures, &self->text);
    if (self->settings->format == CSV)
        return shot_report_write_long(shot, measures, &self->text);
    if (self->settings->format == JSON)
        return shot_report_write_json(shot, measures, &self->text);
    const size_t start = self->text.length;
    SHOT_TRY(shot_report_write_page(shot, measures, self->settings->no_advice ? 0 : MOST_ADVICE,
                                    &self->text));
    shot_words_make_plain(&self->text, start);
    return SHOT_OK;
}

static shot_status flush(report_sink *self, shot_error *error) {
    return shot_output_flush(self->output, &self->text, error);
}

/* ---- what was wanted ---- */

static shot_status wanted_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    wanted_sink *self = (wanted_sink *)sink;
    if (++self->shots > 1)
        return shot_fail(error, SHOT_ERR_DATA,
                         "--wanted: the file holds more than one shot; take one with shot-pick, or "
                         "their average "
                         "with shot-average");
    return checked(shot_table_begin(&self->table, head), error);
}

static shot_status wanted_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(&((wanted_sink *)sink)->table, block), error);
}

static shot_status wanted_mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(&((wanted_sink *)sink)->table, one), error);
}

static const shot_sink_calls wanted_calls = {
    .begin = wanted_begin, .rows = wanted_rows, .mark = wanted_mark};

static bool has_wanted_channel(const shot_table *curve) {
    static const char *const names[] = {"pressure", "flow", "wanted.pressure", "wanted.flow"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (shot_table_column(curve, names[i]) != NULL)
            return true;
    return false;
}

/* Read the curve, once, when the first shot comes. */
static shot_status load_wanted(report_sink *self, shot_error *error) {
    char *path = (char *)self->settings->wanted;
    if (path == NULL || self->wanted.shots > 0)
        return SHOT_OK;
    const shot_intake into = {.sink = &self->wanted.sink};
    SHOT_TRY(self->loader.load(self->loader.user, &(shot_texts){&path, 1}, &into, error));
    return has_wanted_channel(&self->wanted.table)
               ? SHOT_OK
               : shot_fail(error, SHOT_ERR_DATA, "--wanted: '%.100s' has neither pressure nor flow",
                           path);
}

/* ---- the shots ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    report_sink *self = (report_sink *)sink;
    SHOT_TRY(load_wanted(self, error));
    return checked(shot_table_begin(&self->table, head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(&((report_sink *)sink)->table, block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(&((report_sink *)sink)->table, one), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(&((report_sink *)sink)->table, one), error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    report_sink *self = (report_sink *)sink;
    shot_measure_list measures = {0};
    self->table.cut = cut;
    shot_status status = shot_measures_against(
        &self->table, self->settings->wanted != NULL ? &self->wanted.table : NULL, &measures,
        error);
    if (status == SHOT_OK)
        status = write_shot(self, &measures);
    shot_measure_list_free(&measures);
    SHOT_TRY(checked(status, error));
    return self->text.length >= 64 * 1024 ? flush(self, error) : SHOT_OK;
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return flush((report_sink *)sink, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    report_sink *self = (report_sink *)sink;
    if (!cut) /* where nothing could be read not even a table without rows */
        SHOT_TRY(checked(add_header(self), error));
    return flush(self, error);
}

static void release(shot_sink *sink) {
    report_sink *self = (report_sink *)sink;
    shot_table_free(&self->table);
    shot_table_free(&self->wanted.table);
    shot_text_free(&self->text);
    free(self);
}

static const shot_sink_calls calls = {begin, rows, mark, line, end, pause, close, release};

static shot_status answer(const void *settings, shot_text *out) {
    return ((const struct report_settings *)settings)->codebook ? shot_report_write_codebook(out)
                                                                : SHOT_OK;
}

static shot_status check_call(const struct report_settings *settings, shot_error *error) {
    if (settings->codebook)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--codebook reads no shots: call shot-report --codebook by itself");
    if (settings->wide && settings->format == JSON)
        return shot_fail(error, SHOT_ERR_USAGE, "--wide is CSV; leave --format json out");
    return SHOT_OK;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    *out = NULL;
    SHOT_TRY(check_call(making->settings, error));
    report_sink *self = calloc(1, sizeof *self);
    *out = self ? &self->sink : NULL;
    if (self == NULL)
        return out_of_memory(error);
    self->sink.calls = &calls;
    self->settings = making->settings;
    self->output = making->output;
    self->loader = making->loader;
    self->wanted.sink.calls = &wanted_calls;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-read shot.csv | shot-find | shot-report",
    "shot-find day.trace | shot-report --wide --key grind > day.csv",
    "shot-report --codebook > codebook.csv",
    NULL,
};

const shot_description shot_report = {
    .name = "report",
    .purpose = "one shot, one summary",
    .details = "Prints what the trace and the marks of the filters before it say about each shot: "
               "how long each phase took, pressure, flow, hydraulic resistance, the cup, and what "
               "was found. A figure that is an estimate has its 95 % interval beside it. The names "
               "of the measures in CSV and JSON do not change; --codebook says what they are.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct report_settings),
    .options = options,
    .make = make,
    .latency = shot_latency_shot,
    .answer = answer,
};
