/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot for a group of shots: head, rows, noise, distances, marks. */
#include "judge/average_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/sample_quantile.h>
#include <shottrace/trace/noise_line.h>

#include "lack_of_memory.h"
#include "judge/words.h"
#include "plain_format.h"

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the average", error);
}

/* What was done to the shots before, as the first of them tells it. */
static shot_status say_history(const average_group *group, shot_head *head) {
    const shot_head *first = &group->shots[0]->history;
    for (size_t i = 0; i < first->line_count; i++)
        SHOT_TRY(shot_head_add_line(head, "history", first->lines[i].value));
    for (size_t i = 1; i < group->count; i++) {
        const shot_head *other = &group->shots[i]->history;
        bool same = other->line_count == first->line_count;
        for (size_t k = 0; same && k < first->line_count; k++)
            same = strcmp(first->lines[k].value, other->lines[k].value) == 0;
        if (!same)
            return shot_head_add_line(head, "note",
                                      "shot-average: the shots were not all made alike; the "
                                      "history is that of the first");
    }
    return SHOT_OK;
}

static shot_status say_head(const average_group *group, shot_head *head) {
    shot_text text = {0};
    shot_status status = shot_text_add(&text, "average");
    if (status == SHOT_OK && group->label != NULL)
        status = shot_text_add_format(&text, " %s %s", group->key, group->label);
    if (status == SHOT_OK)
        status = shot_head_set_name(head, text.bytes);
    if (status == SHOT_OK && group->label != NULL)
        status = shot_head_add_line(head, group->key, group->label);
    shot_text_clear(&text);
    if (status == SHOT_OK)
        status = shot_text_add_format(&text, "%zu", group->count);
    if (status == SHOT_OK)
        status = shot_head_add_line(head, "shots", text.bytes);
    shot_text_clear(&text);
    if (status == SHOT_OK)
        status = shot_text_add_format(&text, "%g %%", 100 * group->share);
    if (status == SHOT_OK)
        status = shot_head_add_line(head, "band", text.bytes);
    shot_text_free(&text);
    return status == SHOT_OK ? say_history(group, head) : status;
}

static shot_status add_channel(shot_head *head, const shot_channel *channel, const char *suffix) {
    shot_text name = {0};
    shot_status status = shot_text_add_format(&name, "%s%s", channel->name, suffix);
    if (status == SHOT_OK)
        status = shot_head_add_channel(head, name.bytes, channel->unit);
    shot_text_free(&name);
    return status;
}

static shot_status make_head(const average_group *group, shot_head *head) {
    SHOT_TRY(say_head(group, head));
    SHOT_TRY(shot_head_add_channel(head, "time", "s"));
    for (size_t c = 0; c < group->channels->count; c++) {
        const shot_channel *channel = &group->channels->items[c];
        SHOT_TRY(add_channel(head, channel, ""));
        SHOT_TRY(add_channel(head, channel, ".low"));
        SHOT_TRY(add_channel(head, channel, ".high"));
    }
    return shot_head_add_channel(head, "shots", "");
}

static shot_status send_rows(const average_group *group, const average_band *band,
                             shot_stage *stage, shot_error *error) {
    size_t columns = 3 * group->channels->count + 2;
    double *time = malloc((band->rows + 1) * sizeof *time);
    const double **column = malloc(columns * sizeof *column);
    shot_status status = time != NULL && column != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        for (size_t i = 0; i < band->rows; i++)
            time[i] = (double)(band->first + (long)i) / group->rate;
        column[0] = time;
        for (size_t c = 0; c < group->channels->count; c++) {
            column[3 * c + 1] = band->median[c];
            column[3 * c + 2] = band->low[c];
            column[3 * c + 3] = band->high[c];
        }
        column[columns - 1] = band->shots;
        shot_block block = {band->rows, columns, column};
        status = shot_sink_rows(stage->next, &block, error);
    }
    free(time);
    free(column);
    return checked(status, error);
}

/* The noise that a sample had before the median took most of it: the median of the shots'. */
static shot_status send_noise(const average_group *group, shot_stage *stage, double *room,
                              shot_error *error) {
    for (size_t c = 0; c < group->channels->count; c++) {
        for (size_t i = 0; i < group->count; i++)
            room[i] = c < group->shots[i]->columns ? group->shots[i]->noise[c] : NAN;
        size_t present = shot_sample_quantile_sort(room, group->count);
        shot_noise_line noise = {.sd = shot_sample_quantile(room, present, 0.5)};
        if (noise.sd > 0)
            SHOT_TRY(
                shot_noise_line_say(stage->next, group->channels->items[c].name, &noise, error));
    }
    return SHOT_OK;
}

/* "quay-3: pressure 0.42 bar, 12 % outside; weight 1.3 g, 0 % outside". */
static shot_status describe(const average_group *group, const average_band *band,
                            const average_shot *shot, shot_text *text) {
    bool any = false;
    SHOT_TRY(shot_text_add_format(text, "%s: ", shot->name));
    for (size_t c = 0; c < group->channels->count; c++) {
        const shot_channel *channel = &group->channels->items[c];
        double rms, outside;
        average_band_distance(band, shot, c, &rms, &outside);
        if (isnan(rms))
            continue;
        SHOT_TRY(shot_text_add_format(text, "%s%s ", any ? "; " : "", channel->name));
        SHOT_TRY(shot_words_number(text, rms, shot_words_decimals(rms, rms)));
        SHOT_TRY(shot_text_add_format(text, "%s%s, %.0f %% outside", *channel->unit ? " " : "",
                                      channel->unit, 100 * outside));
        any = true;
    }
    return any ? SHOT_OK : shot_text_add(text, "nothing in common");
}

static shot_status send_distances(const average_group *group, shot_stage *stage,
                                  const average_band *band, shot_error *error) {
    for (size_t i = 0; i < group->count; i++) {
        shot_text text = {0};
        shot_status status = describe(group, band, group->shots[i], &text);
        if (status == SHOT_OK)
            status = shot_sink_say(stage->next, "distance", error, "%s", text.bytes);
        shot_text_free(&text);
        SHOT_TRY(checked(status, error));
    }
    return SHOT_OK;
}

static shot_status send_measured(const average_group *group, shot_stage *stage, shot_error *error) {
    for (size_t i = 0; i < group->count; i++) {
        shot_line line = {(char *)"measured", group->shots[i]->measured};
        SHOT_TRY(shot_sink_line(stage->next, &line, error));
    }
    return SHOT_OK;
}

/* Where a phase lies in the middle of the shots, if at least half of them have it. */
static shot_status send_mark(const average_group *group, shot_stage *stage, const char *kind,
                             double *room, shot_error *error) {
    size_t from = 0, to = 0;
    for (size_t i = 0; i < group->count; i++) {
        const shot_mark *one = shot_mark_list_last(&group->shots[i]->marks, kind);
        if (one == NULL || isnan(one->from) || isnan(one->to))
            continue;
        room[from++] = one->from;
        room[group->count + to++] = one->to;
    }
    if (from == 0 || 2 * from < group->count)
        return SHOT_OK;
    shot_sample_quantile_sort(room, from);
    shot_sample_quantile_sort(room + group->count, to);
    char id[32], note[64];
    snprintf(id, sizeof id, "%.20s", kind);
    snprintf(note, sizeof note, "median of %zu shot%s", from, shot_plural(from));
    shot_mark one = shot_mark_none();
    one.kind = (char *)kind;
    one.id = id;
    one.note = note;
    one.from = shot_sample_quantile(room, from, 0.5);
    one.to = shot_sample_quantile(room + group->count, to, 0.5);
    return shot_sink_mark(stage->next, &one, error);
}

static shot_status send_marks(const average_group *group, shot_stage *stage, double *room,
                              shot_error *error) {
    for (size_t k = 0; k < AVERAGE_KINDS; k++)
        SHOT_TRY(send_mark(group, stage, average_kinds[k], room, error));
    return SHOT_OK;
}

static shot_status send_parts(const average_group *group, shot_stage *stage,
                              const average_band *band, shot_error *error) {
    double *room = malloc((2 * group->count + 1) * sizeof *room);
    if (room == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    shot_status status = send_rows(group, band, stage, error);
    if (status == SHOT_OK)
        status = send_noise(group, stage, room, error);
    if (status == SHOT_OK)
        status = send_distances(group, stage, band, error);
    if (status == SHOT_OK)
        status = send_measured(group, stage, error);
    if (status == SHOT_OK)
        status = send_marks(group, stage, room, error);
    free(room);
    return status == SHOT_OK ? shot_sink_end(stage->next, false, error) : status;
}

shot_status average_group_send(const average_group *group, shot_stage *stage, shot_error *error) {
    shot_head head = {0};
    average_band band = {0};
    shot_status status = checked(make_head(group, &head), error);
    if (status == SHOT_OK)
        status = checked(average_band_find(group->shots, group->count, group->channels->count,
                                           group->share, &band),
                         error);
    if (status == SHOT_OK)
        status = shot_stage_begin(&stage->sink, &head, error);
    if (status == SHOT_OK)
        status = send_parts(group, stage, &band, error);
    average_band_free(&band);
    shot_head_free(&head);
    return status;
}
