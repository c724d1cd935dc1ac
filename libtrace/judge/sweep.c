/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A measure against a setting: options and intake. */
#include <shottrace/judge/sweep.h>

#include <math.h>
#include <string.h>

#include "judge/measure_intake.h"
#include "judge/sweep_parts.h"
#include "judge/words.h"

enum { PAGE, CSV, CURVE };

static const shot_option options[] = {
    {.name = "x",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct sweep_settings, x),
     .argument = "NAME",
     .initial = "brew.pressure",
     .help = "what was swept: a measure, or a metadata key that is a number"},
    {.name = "y",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct sweep_settings, y),
     .argument = "NAME",
     .help = "what to look at (default beverage.mass): a measure or a metadata key; with --at a "
             "channel (default weight)"},
    {.name = "at",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "s",
     .field = offsetof(struct sweep_settings, at),
     .argument = "TIME",
     .low = 0.001,
     .high = 1e4,
     .help = "take the channel of --y so long after the water came: its value then, or the mean up "
             "to then of one that is a rate (flow, outflow)"},
    {.name = "within",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct sweep_settings, within),
     .argument = "KEY",
     .help = "each value of a metadata key (student, bean; day: also by the clocks) at a level of "
             "its own, so that how far these lie apart is not in the curve"},
    {.name = "step",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct sweep_settings, step),
     .argument = "STEP",
     .low = 0,
     .high = INFINITY,
     .help = "settings no further apart than this are one setting (default: a twentieth of the "
             "range)"},
    {.name = "level",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct sweep_settings, level),
     .argument = "P",
     .initial = "0.95",
     .low = 0.8,
     .high = 0.999,
     .help = "level of intervals; tests are at 1 - P"},
    {.name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct sweep_settings, format),
     .argument = "NAME",
     .choices = "page|csv|curve",
     .initial = "page",
     .help = "a page for a person, CSV, or CSV of what shot-plot draws"},
    {0}};

typedef struct sweep_sink {
    shot_measure_writer writer;
    struct sweep_settings settings; /* with the name of y filled in */
    shot_sweep_result result;
} sweep_sink;

/* ---- a channel at a time ---- */

static double start_of(const shot_table *shot) {
    const shot_mark *preinfusion = shot_mark_list_last(&shot->marks, "preinfusion");
    if (preinfusion != NULL)
        return preinfusion->from;
    return shot->rows.rows > 0 ? shot->rows.column[0][0] : NAN;
}

/* The value at `when` on the straight line between the samples about it; NaN outside the log. */
static double value_at(const double *time, const double *values, size_t rows, double when) {
    size_t before = rows;
    for (size_t i = 0; i < rows; i++) {
        if (isnan(values[i]))
            continue;
        if (time[i] == when)
            return values[i];
        if (time[i] > when) {
            if (before == rows)
                return NAN;
            double part = (when - time[before]) / (time[i] - time[before]);
            return values[before] + part * (values[i] - values[before]);
        }
        before = i;
    }
    return NAN;
}

/* The mean over from..to of the straight lines between the samples; NaN where the log is shorter.
 */
static double mean_between(const double *time, const double *values, size_t rows, double from,
                           double to) {
    double last_time = from, last = value_at(time, values, rows, from), area = 0;
    double end = value_at(time, values, rows, to);
    for (size_t i = 0; i < rows && time[i] < to; i++) {
        if (isnan(values[i]) || time[i] <= from)
            continue;
        area += (time[i] - last_time) * (values[i] + last) / 2;
        last_time = time[i];
        last = values[i];
    }
    return (area + (to - last_time) * (end + last) / 2) / (to - from);
}

/* The time of the last sample; NaN without one. */
static double last_time(const double *time, const double *values, size_t rows) {
    while (rows > 0 && isnan(values[rows - 1]))
        rows--;
    return rows > 0 ? time[rows - 1] : NAN;
}

static bool is_rate(const char *unit) {
    size_t length = strlen(unit);
    return length >= 2 && strcmp(unit + length - 2, "/s") == 0;
}

static shot_status add_at(void *user, const shot_table *shot, shot_measure_table *table,
                          size_t index, shot_error *error) {
    sweep_sink *self = user;
    const struct sweep_settings *s = &self->settings;
    ptrdiff_t channel = shot_head_channel(&shot->head, s->y);
    if (channel < 0)
        return SHOT_OK;
    const double *time = shot->rows.column[0], *values = shot->rows.column[channel];
    const char *unit = shot->head.channels[channel].unit;
    double from = start_of(shot), to = from + s->at;
    double value = is_rate(unit) ? mean_between(time, values, shot->rows.rows, from, to)
                                 : value_at(time, values, shot->rows.rows, to);
    if (last_time(time, values, shot->rows.rows) < to)
        self->result.ended_before++;
    shot_text label = {0};
    shot_status status =
        shot_text_add_format(&label, is_rate(unit) ? "mean %s up to " : "%s at ", s->y);
    if (status == SHOT_OK)
        status = shot_text_add_number(&label, s->at);
    if (status == SHOT_OK)
        status = shot_text_add(&label, " s");
    if (status == SHOT_OK)
        status = shot_measure_table_set(table, index, s->y, label.bytes, unit, value, error);
    shot_text_free(&label);
    return status;
}

/* ---- the work ---- */

/* That no shot is as long is no result but a wrong question. */
static shot_status check_time(const sweep_sink *self, shot_error *error) {
    const size_t ended = self->result.ended_before;
    if (ended == 0 || ended < self->result.groups.table.shot_count)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "--at: %s ended before %g s after the water came; take an earlier time",
                     ended == 1 ? "the shot" : "all shots", self->settings.at);
}

static shot_status finish(shot_measure_writer *writer, shot_error *error) {
    sweep_sink *self = (sweep_sink *)writer;
    if (self->result.groups.table.shot_count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "there is no shot to look at");
    SHOT_TRY(check_time(self, error));
    SHOT_TRY(shot_compare_find_order(&self->result.groups));
    if (self->settings.within != NULL)
        SHOT_TRY(shot_compare_find_blocks(&self->result.groups, self->settings.within,
                                          &writer->intake.notice, error));
    SHOT_TRY(shot_sweep_find(&self->result, error));
    if (self->settings.format == CURVE)
        return shot_sweep_write_curve(&self->result, &writer->text);
    if (self->settings.format == CSV)
        return shot_sweep_write_csv(&self->result, &writer->text);
    SHOT_TRY(shot_sweep_write_page(&self->result, &writer->text));
    shot_words_make_plain(&writer->text, 0);
    return SHOT_OK;
}

static void release(shot_measure_writer *writer) {
    shot_sweep_result_free(&((sweep_sink *)writer)->result);
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    shot_measure_writer *writer;
    *out = NULL;
    SHOT_TRY(shot_measure_writer_new(making, sizeof(sweep_sink), &writer, error));
    sweep_sink *self = (sweep_sink *)writer;
    writer->finish = finish;
    writer->release = release;
    writer->intake.table = &self->result.groups.table;
    self->settings = *(const struct sweep_settings *)making->settings;
    self->result.settings = &self->settings;
    bool at = !isnan(self->settings.at);
    if (self->settings.y == NULL)
        self->settings.y = at ? "weight" : "beverage.mass";
    writer->intake.more = at ? add_at : NULL;
    writer->intake.user = self;
    *out = &writer->sink;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-sweep --at 30s sweep.trace",
    "shot-sweep --x grind --y score < week.trace",
    "shot-sweep --within student --at 30s < course.trace",
    NULL,
};

const shot_description shot_sweep = {
    .name = "sweep",
    .purpose = "flow against brewing pressure: where is the peak, how sure",
    .details =
        "Looks at one figure of each shot (beverage mass, flow, a score) against what was changed "
        "from shot to shot (brewing pressure, grind): does a parabola fit, is there a peak inside "
        "the sweep at all, and where, with an interval. The interval holds for curves that are no "
        "parabolas; that of the parabola (Fieller), which may be unbounded, stands beside it. "
        "Where "
        "no peak is shown: by how much a step changes the figure, as a straight line.\n"
        "Takes traces (one that no detector has seen goes through the detectors first), or, named "
        "as files and without --at, tables of shot-report --format csv.\n"
        "Pull at least five settings, each more than once, in shuffled order, and on several days "
        "every setting on each: what changes with the hour or the day must not look like the "
        "setting's doing. What days add is then allowed for, and so is, with --within, what "
        "students or beans do.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_TABLE,
    .traits = SHOT_TRAIT_OWN_OPERANDS | SHOT_TRAIT_FINDINGS,
    .settings_size = sizeof(struct sweep_settings),
    .options = options,
    .make = make,
    .latency = shot_latency_stream,
};
