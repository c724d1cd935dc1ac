/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot on the common grid. */
#include "judge/average_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/linear.h>
#include <shottrace/signal/resolution.h>
#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/text.h>

#include "signal/held_values.h"

const char *const average_kinds[AVERAGE_KINDS] = {"preinfusion", "fill",    "soak",      "ramp",
                                                  "brew",        "release", "first-drip"};

/* ---- channels ---- */

static shot_status add_channel(average_channels *channels, const shot_channel *channel) {
    shot_channel *items = realloc(channels->items, (channels->count + 1) * sizeof *items);
    if (items == NULL)
        return SHOT_ERR_MEMORY;
    channels->items = items;
    shot_channel copy = {shot_text_copy(channel->name), shot_text_copy(channel->unit)};
    if (copy.name == NULL || copy.unit == NULL) {
        free(copy.name);
        free(copy.unit);
        return SHOT_ERR_MEMORY;
    }
    items[channels->count++] = copy;
    return SHOT_OK;
}

/* Bands and counts of an average before are no channels of a shot; of them the result has its own,
 * and would name them twice. */
static bool is_of_average(const shot_head *head, const char *name) {
    static const char *const ends[] = {".low", ".high"};
    const size_t length = strlen(name);
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        const size_t end = strlen(ends[i]);
        if (length <= end || strcmp(name + length - end, ends[i]) != 0)
            continue;
        for (size_t c = 1; c < head->channel_count; c++)
            if (strlen(head->channels[c].name) == length - end &&
                memcmp(head->channels[c].name, name, length - end) == 0)
                return true;
    }
    return strcmp(name, "shots") == 0;
}

static shot_status know_channels(const shot_head *head, average_channels *channels,
                                 shot_error *error) {
    for (size_t c = 1; c < head->channel_count; c++) {
        const shot_channel *channel = &head->channels[c];
        size_t known = 0;
        if (is_of_average(head, channel->name))
            continue;
        while (known < channels->count && strcmp(channels->items[known].name, channel->name) != 0)
            known++;
        if (known == channels->count)
            SHOT_TRY(add_channel(channels, channel));
        else if (strcmp(channels->items[known].unit, channel->unit) != 0)
            return shot_fail(error, SHOT_ERR_UNIT,
                             "shot '%s': '%s' is in [%s], but in [%s] in the shots before",
                             head->name, channel->name, channel->unit, channels->items[known].unit);
    }
    return SHOT_OK;
}

void average_channels_free(average_channels *channels) {
    for (size_t i = 0; i < channels->count; i++) {
        free(channels->items[i].name);
        free(channels->items[i].unit);
    }
    free(channels->items);
    *channels = (average_channels){0};
}

/* ---- one channel onto the grid ---- */

/* Room for a shot's samples without the missing ones, and for the grid's times. */
struct scratch {
    double *t, *y, *at, *work;
};

static shot_status make_scratch(struct scratch *room, size_t samples, size_t rows) {
    room->t = malloc((2 * samples + rows + held_noise_workspace(samples) + 1) * sizeof *room->t);
    if (room->t == NULL)
        return SHOT_ERR_MEMORY;
    room->y = room->t + samples;
    room->at = room->y + samples;
    room->work = room->at + rows;
    return SHOT_OK;
}

/* Blank the grid where the samples on either side are further apart than `gap`, but for a row that
 * is one of them to a microsecond. */
static void blank_gaps(const double *t, size_t n, const double *at, size_t rows, double gap,
                       double *values) {
    size_t next = 0;
    for (size_t i = 0; i < rows; i++) {
        while (next < n && t[next] < at[i])
            next++;
        if (next == 0 || next == n || t[next] - t[next - 1] <= gap)
            continue;
        if (t[next] - at[i] > 1e-6 && at[i] - t[next - 1] > 1e-6)
            values[i] = NAN;
    }
}

static shot_status lay(const shot_table *shot, size_t channel, double gap, struct scratch *room,
                       average_shot *out, double **values, double *noise) {
    const double *time = shot->rows.column[0], *samples = shot->rows.column[channel];
    shot_noise_line line;
    shot_noise estimate;
    size_t n = 0;
    for (size_t i = 0; i < shot->rows.rows; i++)
        if (!isnan(samples[i])) {
            room->t[n] = time[i];
            room->y[n++] = samples[i];
        }
    *values = malloc((out->rows + 1) * sizeof **values);
    if (*values == NULL)
        return SHOT_ERR_MEMORY;
    SHOT_TRY(shot_linear(room->t, room->y, n, room->at, out->rows, *values));
    blank_gaps(room->t, n, room->at, out->rows, gap, *values);
    *noise = NAN;
    if (shot_noise_line_find(&shot->head, shot->head.channels[channel].name, &line))
        *noise = line.sd;
    else if (held_noise_estimate(room->t, room->y, n, shot_resolution(room->y, n), room->work,
                                 &estimate) == SHOT_OK)
        *noise = estimate.sd;
    return SHOT_OK;
}

static shot_status lay_all(const shot_table *shot, double origin, double rate, double gap,
                           const average_channels *channels, average_shot *out) {
    struct scratch room;
    out->column = calloc(channels->count + 1, sizeof *out->column);
    out->noise = calloc(channels->count + 1, sizeof *out->noise);
    if (out->column == NULL || out->noise == NULL)
        return SHOT_ERR_MEMORY;
    out->columns = channels->count;
    SHOT_TRY(make_scratch(&room, shot->rows.rows, out->rows));
    for (size_t i = 0; i < out->rows; i++)
        room.at[i] = origin + (double)(out->first + (long)i) / rate;
    shot_status status = SHOT_OK;
    for (size_t c = 0; c < channels->count && status == SHOT_OK; c++) {
        ptrdiff_t channel = shot_head_channel(&shot->head, channels->items[c].name);
        out->noise[c] = NAN;
        if (channel >= 0)
            status = lay(shot, (size_t)channel, gap, &room, out, &out->column[c], &out->noise[c]);
    }
    free(room.t);
    return status;
}

static shot_status take_marks(const shot_table *shot, double origin, average_shot *out) {
    for (size_t k = 0; k < AVERAGE_KINDS; k++) {
        const shot_mark *last = shot_mark_list_last(&shot->marks, average_kinds[k]);
        if (last == NULL)
            continue;
        shot_mark mark = shot_mark_none();
        mark.kind = last->kind;
        mark.from = last->from - origin;
        mark.to = last->to - origin;
        SHOT_TRY(shot_mark_list_add(&out->marks, &mark));
    }
    return SHOT_OK;
}

static shot_status take_history(const shot_head *head, average_shot *out) {
    for (size_t i = 0; i < head->line_count; i++)
        if (head->lines[i].key != NULL && strcmp(head->lines[i].key, "history") == 0)
            SHOT_TRY(shot_head_add_line(&out->history, "history", head->lines[i].value));
    return SHOT_OK;
}

shot_status average_shot_take(const shot_table *shot, double origin, double rate, double gap,
                              average_channels *channels, average_shot *out, shot_error *error) {
    *out = (average_shot){.name = shot_text_copy(shot->head.name)};
    if (out->name == NULL)
        return SHOT_ERR_MEMORY;
    SHOT_TRY(know_channels(&shot->head, channels, error));
    size_t rows = shot->rows.rows;
    if (rows > 0) {
        const double *time = shot->rows.column[0];
        out->first = (long)ceil((time[0] - origin) * rate - 1e-6);
        long last = (long)floor((time[rows - 1] - origin) * rate + 1e-6);
        out->rows = last >= out->first ? (size_t)(last - out->first) + 1 : 0;
    }
    SHOT_TRY(lay_all(shot, origin, rate, gap, channels, out));
    SHOT_TRY(take_history(&shot->head, out));
    return take_marks(shot, origin, out);
}

void average_shot_free(average_shot *shot) {
    free(shot->measured);
    for (size_t c = 0; c < shot->columns; c++)
        free(shot->column[c]);
    free(shot->column);
    free(shot->noise);
    free(shot->name);
    free(shot->group);
    shot_mark_list_free(&shot->marks);
    shot_head_free(&shot->history);
    *shot = (average_shot){0};
}
