/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots laid over each other at a mark: options, intake, and one shot for all of them. */
#include <shottrace/judge/average.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/measure_table.h>
#include <shottrace/trace/name_list.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "lack_of_memory.h"
#include "judge/average_parts.h"
#include "room.h"
#include "signal/missing.h"

enum { AT_WATER, AT_FULL_PRESSURE, AT_FIRST_DRIP, AT_PUMP_OFF, AT_START };

struct average_settings {
    int at;
    double rate, band, gap;
    const char *by;
};

static const shot_option options[] = {
    {.name = "at",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct average_settings, at),
     .argument = "MARK",
     .choices = "water|full-pressure|first-drip|pump-off|start",
     .initial = "water",
     .help = "what lies at time 0 of every shot (water enters the basket, end of preinfusion, ..., "
             "first row of the log)"},
    {.name = "rate",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct average_settings, rate),
     .argument = "HZ",
     .initial = "10",
     .low = 0.1,
     .high = 1000,
     .help = "rows a second of the result"},
    {.name = "band",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct average_settings, band),
     .argument = "P",
     .initial = "0.9",
     .low = 0.01,
     .high = 1,
     .help = "share of the shots that the band holds at each time; 1: from the lowest to the "
             "highest"},
    {.name = "max-gap",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "s",
     .field = offsetof(struct average_settings, gap),
     .argument = "TIME",
     .initial = "1s",
     .low = 0,
     .high = 1e6,
     .help = "samples further apart are not joined by a line"},
    {.name = "by",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct average_settings, by),
     .argument = "KEY",
     .help = "one result for each value of a metadata key (grind)"},
    {0}};

typedef struct average_sink {
    shot_stage stage;
    shot_table shot; /* the one that comes */
    average_channels channels;
    average_shot *shots;
    size_t count, room;
    shot_name_sample sparse; /* shots of which a channel has few samples near enough */
} average_sink;

static const struct average_settings *settings_of(const average_sink *self) {
    return self->stage.settings;
}

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the shots", error);
}

/* ---- shots come ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    return checked(shot_table_begin(&((average_sink *)sink)->shot, head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(&((average_sink *)sink)->shot, block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(&((average_sink *)sink)->shot, one), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(&((average_sink *)sink)->shot, one), error);
}

/* When time 0 is to be; NaN if the shot does not say. */
static double origin_of(const shot_table *shot, int at) {
    static const char *const kinds[] = {"preinfusion", "preinfusion", "first-drip", "brew"};
    if (at == AT_START)
        return shot->rows.rows > 0 ? shot->rows.column[0][0] : NAN;
    const shot_mark *one = shot_mark_list_last(&shot->marks, kinds[at]);
    if (one == NULL)
        return NAN;
    return at == AT_FULL_PRESSURE || at == AT_PUMP_OFF ? one->to : one->from;
}

static shot_status make_room(average_sink *self) {
    average_shot *shots = room_for_more(self->shots, self->count, &self->room, 16, sizeof *shots);
    if (shots == NULL)
        return SHOT_ERR_MEMORY;
    self->shots = shots;
    return SHOT_OK;
}

/* What the shot measured goes with the average, so that it tells the scatter too. */
static shot_status measure(const shot_table *shot, average_shot *out, shot_error *error) {
    shot_measure_list measures = {0};
    shot_text line = {0};
    shot_status status = shot_measures_of(shot, &measures, error);
    if (status == SHOT_OK)
        status = shot_measured_write(&line, shot->head.name, &measures);
    shot_measure_list_free(&measures);
    out->measured = line.bytes; /* may be NULL where that failed */
    return status;
}

/* s between the first and the last sample. */
static double span_of(const double *time, const double *samples, size_t n) {
    double first = NAN, last = NAN;
    for (size_t i = 0; i < n; i++)
        if (!isnan(samples[i])) {
            first = isnan(first) ? time[i] : first;
            last = time[i];
        }
    return last - first;
}

/* Has a channel less than half of the rows between its first and its last sample? */
static bool is_sparse(const shot_table *shot, const average_channels *channels, double rate,
                      const average_shot *laid) {
    for (size_t c = 0; c < laid->columns; c++) {
        const double *samples = shot_table_column(shot, channels->items[c].name);
        if (samples != NULL &&
            2 * (double)(laid->rows - count_missing(laid->column[c], laid->rows)) <
                floor(rate * span_of(shot->rows.column[0], samples, shot->rows.rows)))
            return true;
    }
    return false;
}

static shot_status take(average_sink *self, double origin, shot_error *error) {
    const struct average_settings *s = settings_of(self);
    SHOT_TRY(make_room(self));
    average_shot *shot = &self->shots[self->count++];
    SHOT_TRY(average_shot_take(&self->shot, origin, s->rate, s->gap, &self->channels, shot, error));
    if (is_sparse(&self->shot, &self->channels, s->rate, shot))
        SHOT_TRY(shot_name_sample_add(&self->sparse, self->shot.head.name));
    SHOT_TRY(measure(&self->shot, shot, error));
    if (s->by == NULL)
        return SHOT_OK;
    shot->group = shot_text_copy(shot_head_value(&self->shot.head, s->by));
    return shot->group != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* A clock that was set while it logged: most of the grid would have no row near it, and a grid over
 * years no room (common practice, no source).  A single hole of seconds is no matter here; the
 * report tells of it (report_short.c). */
static bool is_grid_empty(const shot_table *shot, double rate) {
    const double rows = (double)shot->rows.rows;
    return rows > 0 &&
           (shot->rows.column[0][shot->rows.rows - 1] - shot->rows.column[0][0]) * rate >
               1000 * (rows + 100);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    average_sink *self = (average_sink *)sink;
    const struct average_settings *s = settings_of(self);
    const char *name = self->shot.head.name;
    double origin = origin_of(&self->shot, s->at);
    const char *why = NULL;
    if (cut)
        why = "was cut short";
    else if (isnan(origin))
        why = "lacks the mark to lay it at (put shot-segment before shot-average)";
    else if (is_grid_empty(&self->shot, s->rate))
        why = "has a clock that leaps: a thousand times as long as its rows (shot-split parts it)";
    if (why != NULL)
        shot_notice_say(&self->stage.notice, "shot '%s' %s and is left out", name, why);
    else if (s->by != NULL && shot_head_value(&self->shot.head, s->by) == NULL)
        shot_notice_say(&self->stage.notice,
                        "shot '%s' says nothing of the key '%s' and is left out", name, s->by);
    else
        return checked(take(self, origin, error), error);
    return SHOT_OK;
}

/* ---- all groups ---- */

static bool same_group(const average_shot *a, const average_shot *b) {
    return a->group == NULL || strcmp(a->group, b->group) == 0;
}

static shot_status send_all(average_sink *self, const average_shot **members, bool *done,
                            shot_error *error) {
    const struct average_settings *s = settings_of(self);
    for (size_t i = 0; i < self->count; i++) {
        if (done[i])
            continue;
        average_group group = {.key = s->by,
                               .label = self->shots[i].group,
                               .channels = &self->channels,
                               .shots = members,
                               .rate = s->rate,
                               .share = s->band};
        for (size_t k = i; k < self->count; k++)
            if (!done[k] && same_group(&self->shots[i], &self->shots[k])) {
                members[group.count++] = &self->shots[k];
                done[k] = true;
            }
        SHOT_TRY(average_group_send(&group, &self->stage, error));
    }
    return SHOT_OK;
}

static void tell_sparse(average_sink *self) {
    if (self->sparse.count > 0)
        shot_notice_say(&self->stage.notice,
                        "samples further apart than --max-gap %gs are not joined: less than half "
                        "is left of a channel of %s; take a --max-gap longer than the time between "
                        "two samples",
                        settings_of(self)->gap, shot_name_sample_text(&self->sparse));
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    average_sink *self = (average_sink *)sink;
    if (self->count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "there is no shot to average");
    tell_sparse(self);
    const average_shot **members = malloc(self->count * sizeof *members);
    bool *done = calloc(self->count, sizeof *done);
    shot_status status = members != NULL && done != NULL ? send_all(self, members, done, error)
                                                         : checked(SHOT_ERR_MEMORY, error);
    free(members);
    free(done);
    SHOT_TRY(status);
    return shot_stage_close(sink, cut, error);
}

static void release(shot_sink *sink) {
    average_sink *self = (average_sink *)sink;
    for (size_t i = 0; i < self->count; i++)
        average_shot_free(&self->shots[i]);
    free(self->shots);
    average_channels_free(&self->channels);
    shot_name_sample_free(&self->sparse);
    shot_table_free(&self->shot);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {begin, rows,   mark, line, end, shot_stage_pause,
                                      close, release};

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(average_sink), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-segment < week.trace | shot-average > usual.trace",
    "shot-segment < week.trace | shot-average --at first-drip --by grind",
    NULL,
};

const shot_description shot_average = {
    .name = "average",
    .purpose = "shots laid over each other: median and band",
    .details =
        "Lays all shots over each other at a mark and hands on one shot (with --by one for each "
        "value of a key): the median of each channel, a band NAME.low to NAME.high that holds the "
        "middle of the shots at each time, and how many shots there were. Where fewer than half of "
        "them have a channel it is missing; logs that have ended count with their last values. "
        "Phases are the medians of the shots'. '# distance:' "
        "tells for each shot how far it was from the median (root mean square) and for how much of "
        "the time outside the band.\n"
        "Values are drawn linearly between samples; put shot-resample before it where the logs are "
        "much faster than the result. All shots are kept on the grid until the stream ends.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_STREAM,
    .traits = SHOT_TRAIT_ACROSS_SHOTS | SHOT_TRAIT_FINDINGS,
    .settings_size = sizeof(struct average_settings),
    .options = options,
    .make = make,
    .latency = shot_latency_stream,
};
