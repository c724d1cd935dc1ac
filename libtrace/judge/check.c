/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-check: how good a log is, and what it can show. */
#include <shottrace/judge/check.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/trace/stage.h>

#include "lack_of_memory.h"
#include "judge/check_parts.h"

enum { PAGE, CSV };

static const shot_option options[] = {
    {.name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct check_settings, format),
     .argument = "NAME",
     .choices = "page|csv",
     .initial = "page",
     .help = "a page for a person, or the figures as CSV"},
    {.letter = 'm',
     .name = "mains",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct check_settings, mains),
     .argument = "FREQUENCY",
     .unit = "Hz",
     .initial = "50Hz",
     .low = 0,
     .high = 1000,
     .help = "of the pump's strokes: where it appears when the log is too slow for it; 0 for none"},
    {.name = "span",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct check_settings, span),
     .argument = "TIME",
     .unit = "s",
     .initial = "2s",
     .low = 0.01,
     .high = 1000,
     .help = "how long it is quiet before and behind a change that is to be seen"},
    {0}};

typedef struct checker {
    shot_sink sink;
    const struct check_settings *settings;
    const shot_output *output;
    shot_table shot;
    shot_text text;
    bool header_done, later; /* later: a page has been written */
} checker;

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "a shot", error);
}

static shot_status add_header(checker *self) {
    if (self->header_done || self->settings->format != CSV)
        return SHOT_OK;
    self->header_done = true;
    return shot_text_add(&self->text, "shot,channel,measure,value,unit,low,high,level,note\n");
}

static shot_status find(checker *self, check_channel *channels, check_list *out) {
    SHOT_TRY(check_order(&self->shot, out));
    SHOT_TRY(check_put_in_order(&self->shot.rows));
    SHOT_TRY(check_repeats(&self->shot, out));
    SHOT_TRY(check_channels(&self->shot, channels));
    SHOT_TRY(check_figures(&self->shot, channels, self->settings, out));
    SHOT_TRY(check_scale(&self->shot, channels, out));
    return check_limits(&self->shot, channels, self->settings, out);
}

static shot_status write_shot(checker *self, const check_list *list) {
    SHOT_TRY(add_header(self));
    if (self->settings->format == CSV)
        return check_write_csv(&self->shot, list, &self->text);
    if (self->later)
        SHOT_TRY(shot_text_add(&self->text, "\n"));
    self->later = true;
    return check_write_page(&self->shot, list, &self->text);
}

static shot_status check_shot(checker *self) {
    check_channel *channels = calloc(self->shot.head.channel_count, sizeof *channels);
    check_list list = {0};
    shot_status status = channels != NULL ? find(self, channels, &list) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = write_shot(self, &list);
    check_list_free(&list);
    free(channels);
    return status;
}

/* ---- sink ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    return checked(shot_table_begin(&((checker *)sink)->shot, head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(&((checker *)sink)->shot, block), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(&((checker *)sink)->shot, one), error);
}

static shot_status flush(checker *self, shot_error *error) {
    return shot_output_flush(self->output, &self->text, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    checker *self = (checker *)sink;
    const shot_status status = checked(check_shot(self), error);
    if (status != SHOT_OK && status != SHOT_ERR_MEMORY)
        return shot_fail(error, status, "shot '%s': %s", self->shot.head.name,
                         shot_status_text(status));
    SHOT_TRY(status);
    return self->text.length >= 64 * 1024 ? flush(self, error) : SHOT_OK;
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return flush((checker *)sink, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    checker *self = (checker *)sink;
    if (!cut) /* where nothing could be read not even a table without rows */
        SHOT_TRY(checked(add_header(self), error));
    return flush(self, error);
}

static void release(shot_sink *sink) {
    checker *self = (checker *)sink;
    shot_table_free(&self->shot);
    shot_text_free(&self->text);
    free(self);
}

static const shot_sink_calls calls = {.begin = begin,
                                      .rows = rows,
                                      .line = line,
                                      .end = end,
                                      .pause = pause,
                                      .close = close,
                                      .free = release};

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    checker *self = calloc(1, sizeof *self);
    *out = self ? &self->sink : NULL;
    if (self == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    self->sink.calls = &calls;
    self->settings = making->settings;
    self->output = making->output;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-check shot.csv",
    "shot-check --mains 60Hz --format csv < week.trace",
    NULL,
};

const shot_description shot_check = {
    .name = "check",
    .purpose = "how good a log is, and what it can and cannot show",
    .details =
        "For each channel: rate and jitter of its samples, gaps, the step of its figures, its zero "
        "before the shot, its noise, how long it was clipped or stuck, and where the pump's ripple "
        "appears if the log is too slow for it. For the shot: channels that it lacks, times out of "
        "order or in bursts, rows that say again what was known last, and the delay of the weight "
        "behind the flow.\n"
        "What follows: the smallest break of slope in each channel, the smallest loss of "
        "resistance, and the error of the first drop that any method can reach with such noise and "
        "rate (Cramer-Rao bounds: one false find in 20 shots, nine of ten found, errors at 95 %). "
        "docs/check.md has the formulas. Run it on the log as it came, before shot-clean.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_DISORDER,
    .settings_size = sizeof(struct check_settings),
    .options = options,
    .make = make,
    .latency = shot_latency_shot,
};
