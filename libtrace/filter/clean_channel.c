/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-clean: one channel of a shot. */
#include "filter/clean_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/noise_line.h>

#include "filter/error_basis.h"
#include "filter/named_channels.h"
#include "signal/intervals.h"
#include "signal/missing.h"

/* What sensors of the usual channels do by themselves: all common practice, no source.  A pump
 * raises the pressure by up to 6 bar/s, and a pulse of it may fall between two samples; on a main
 * plateau it cannot.  A flow meter that counts pulses of up to 0.3 ml in a third of a second is
 * wrong by up to 1 ml/s; drops on a scale do the same to an outflow. */
static const struct {
    const char *name;
    spike_nature nature;
    double most_zero;
    bool adds_up; /* and comes to rest anywhere */
} natures[] = {
    {"pressure", {6, 3, 0, 0}, 1.1, false}, /* a gauge of absolute pressure shows 1.013 bar */
    {"flow", {0, 1, 0.4, 1}, 1, false},
    {"outflow", {0, 0, 0, 1}, 1, false},
    {"weight", {0, 0, 0, 0}, INFINITY, true}, /* a tare */
    {"temperature", {0, 0, 0, 0}, INFINITY, false},
    {"water", {0, 0, 0, 0}, INFINITY, true},
};

static void set_nature(clean_channel *channel, spike_rule *rule, bool *adds_up) {
    channel->most_zero = INFINITY;
    *adds_up = false;
    for (size_t i = 0; i < sizeof natures / sizeof *natures; i++)
        if (strcmp(natures[i].name, channel->name) == 0) {
            channel->most_zero = natures[i].most_zero;
            rule->nature = natures[i].nature;
            *adds_up = natures[i].adds_up;
        }
}

static shot_gap_rule gap_rule(const shot_span *gap) {
    return gap->samples ? (shot_gap_rule){.factor = gap->length}
                        : (shot_gap_rule){.length = gap->length};
}

shot_status clean_gaps_new(const struct clean_settings *settings, shot_sample_gaps **out) {
    const shot_gap_rule rule = gap_rule(&settings->gap);
    *out = NULL;
    if (settings->gap.length == 0)
        return SHOT_OK;
    return shot_sample_gaps_new(rule, out);
}

/* Are runs of one value looked for where they tell nothing? */
static bool is_computed(const clean_channel *channel, const shot_head *head) {
    return channel->flat.runs != NULL && shot_channel_is_computed(head, channel->name);
}

shot_status clean_channel_begin(clean_channel *channel, const struct clean_settings *settings,
                                const shot_head *head, size_t column) {
    channel->column = column;
    channel->name = head->channels[column].name;
    channel->unit = head->channels[column].unit;
    channel->last = NAN;
    spike_rule rule = {.window = settings->window, .threshold = settings->threshold};
    bool adds_up;
    set_nature(channel, &rule, &adds_up);
    channel->seeks_zero = named_channels_hold(&settings->zero, channel->name);
    zero_finder_begin(&channel->zero, settings->idle.length, settings->idle.samples);
    SHOT_TRY(clean_gaps_new(settings, &channel->gaps));
    const bool held =
        named_channels_hold(&settings->hold, channel->name); /* runs are of its nature */
    SHOT_TRY(flat_finder_begin(&channel->flat, held ? 0 : settings->flat, adds_up));
    channel->computed = is_computed(channel, head);
    channel->interpolated = error_basis_is_interpolated(head, channel->name);
    return spike_finder_new(&rule, &channel->spikes);
}

void clean_channel_again(clean_channel *channel, const struct clean_settings *settings,
                         const shot_head *head) {
    channel->name = head->channels[channel->column].name;
    channel->unit = head->channels[channel->column].unit;
    channel->last = NAN;
    spike_finder_reset(channel->spikes);
    if (channel->gaps != NULL)
        shot_sample_gaps_reset(channel->gaps);
    zero_finder_free(&channel->zero);
    zero_finder_begin(&channel->zero, settings->idle.length, settings->idle.samples);
    flat_finder_reset(&channel->flat);
    channel->computed = is_computed(channel, head);
    channel->interpolated = error_basis_is_interpolated(head, channel->name);
    noise_watch_reset(&channel->noise);
    channel->settled = channel->spike_count = 0;
    channel->largest = channel->largest_at = 0;
    channel->flat_count = channel->flat_samples = 0;
    channel->changed = false;
}

void clean_channel_free(clean_channel *channel) {
    spike_finder_free(channel->spikes);
    shot_sample_gaps_free(channel->gaps);
    zero_finder_free(&channel->zero);
    flat_finder_free(&channel->flat);
    noise_watch_free(&channel->noise);
    *channel = (clean_channel){0};
}

/* ---- spikes ---- */

/* Step over held rows in which the channel has no value: nothing is to be decided there. */
static void skip_missing(const clean_sink *self, clean_channel *channel) {
    const double *y = self->held.column[channel->column];
    while (channel->settled - self->handed < self->held.rows &&
           isnan(y[channel->settled - self->handed]))
        channel->settled++;
}

/* The sample of that row is a spike. */
static shot_status take_spike(clean_sink *self, clean_channel *channel, size_t row,
                              const spike_verdict *verdict, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    const double height = verdict->value - verdict->median;
    channel->spike_count++;
    if (!(fabs(height) <= fabs(channel->largest))) {
        channel->largest = height;
        channel->largest_at = verdict->t;
    }
    if (!settings->keep)
        self->held.column[channel->column][row - self->handed] =
            settings->replace ? verdict->median : NAN;
    channel->changed = channel->changed || settings->replace;
    if (!settings->marks && !settings->keep)
        return SHOT_OK;
    shot_mark mark = shot_mark_none();
    mark.from = mark.to = verdict->t;
    mark.value = height;
    return clean_report_mark(self, CLEAN_SPIKE, channel, &mark, error);
}

/* Step over so many samples, and over the missing ones between them. */
static void skip_samples(const clean_sink *self, clean_channel *channel, size_t samples) {
    const double *y = self->held.column[channel->column] + (channel->settled - self->handed);
    size_t rows = any_missing(y, samples) ? 0 : samples;
    for (samples -= rows; samples > 0; rows++)
        samples -= !isnan(y[rows]);
    channel->settled += rows;
}

/* Apply the verdicts that are known. */
static shot_status take_verdicts(clean_sink *self, clean_channel *channel, shot_error *error) {
    for (;;) {
        spike_verdict verdict;
        size_t passed;
        bool ready;
        SHOT_TRY(spike_finder_pass(channel->spikes, &passed));
        if (passed > 0) {
            skip_samples(self, channel, passed);
            continue;
        }
        SHOT_TRY(spike_finder_next(channel->spikes, &verdict, &ready));
        if (!ready)
            return SHOT_OK;
        skip_missing(self, channel);
        const size_t row = channel->settled++; /* before a mark lets settled rows go */
        if (verdict.spike)
            SHOT_TRY(take_spike(self, channel, row, &verdict, error));
    }
}

/* The stretch of samples ends: at the end of the shot, or at a hole, over which no window reaches,
 * so that rows do not wait for a channel that has fallen silent. */
static shot_status end_stretch(clean_sink *self, clean_channel *channel, shot_error *error) {
    SHOT_TRY(spike_finder_finish(channel->spikes));
    return take_verdicts(self, channel, error);
}

static shot_status look_for_spikes(clean_sink *self, clean_channel *channel, double t, double y,
                                   shot_error *error) {
    if (t - channel->last > self->hole)
        SHOT_TRY(end_stretch(self, channel, error));
    if (isnan(y))
        return SHOT_OK;
    SHOT_TRY(spike_finder_push(channel->spikes, &t, &y, 1));
    return take_verdicts(self, channel, error);
}

/* ---- gaps ---- */

/* A channel that starts later than the shot has its first gap at the start. */
static shot_status look_for_gaps(clean_sink *self, clean_channel *channel, double t,
                                 shot_error *error) {
    if (channel->gaps == NULL)
        return SHOT_OK;
    if (isnan(channel->last) && t > self->start)
        SHOT_TRY(shot_sample_gaps_push(channel->gaps, self->start));
    SHOT_TRY(shot_sample_gaps_push(channel->gaps, t));
    return clean_report_gaps(self, channel, channel->gaps, error);
}

/* ---- zero ---- */

static shot_status take_zero(clean_sink *self, clean_channel *channel, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    const sensor_zero *found = &channel->zero.result;
    if (!settings->marks || !clean_channel_has_zero(channel))
        return SHOT_OK;
    shot_mark mark = shot_mark_none();
    mark.from = found->from;
    mark.to = found->to;
    mark.value = found->zero;
    return clean_report_mark(self, CLEAN_ZERO, channel, &mark, error);
}

bool clean_channel_has_zero(const clean_channel *channel) {
    return channel->seeks_zero && channel->zero.done &&
           fabs(channel->zero.result.zero) <= channel->most_zero;
}

void clean_channel_apply_zero(clean_sink *self, const clean_channel *channel, size_t count) {
    double *y = self->held.column[channel->column];
    if (clean_channel_has_zero(channel))
        for (size_t i = 0; i < count; i++)
            y[i] -= channel->zero.result.zero;
}

static shot_status look_for_zero(clean_sink *self, clean_channel *channel, double t, double y,
                                 shot_error *error) {
    if (!channel->seeks_zero || channel->zero.done)
        return SHOT_OK;
    SHOT_TRY(zero_finder_row(&channel->zero, t, y));
    return channel->zero.done ? take_zero(self, channel, error) : SHOT_OK;
}

/* ---- clipped and stuck ---- */

static shot_status mark_flat(clean_sink *self, clean_channel *channel, flat_kind kind,
                             const shot_value_run *run, shot_error *error) {
    char note[64];
    shot_mark mark = shot_mark_none();
    mark.from = run->from;
    mark.to = run->to;
    mark.value =
        clean_channel_has_zero(channel) ? run->value - channel->zero.result.zero : run->value;
    mark.note = note;
    snprintf(note, sizeof note, "%zu samples of one value%s", run->n,
             run->missed ? ", then a jump" : "");
    channel->flat_count++;
    channel->flat_samples += run->n;
    return clean_report_mark(self, kind == FLAT_CLIP ? CLEAN_CLIP : CLEAN_STUCK, channel, &mark,
                             error);
}

shot_status clean_channel_mark_flat(clean_sink *self, clean_channel *channel, shot_error *error) {
    const size_t count = flat_finder_finish(&channel->flat);
    channel->computed = channel->computed || is_computed(channel, &self->head);
    if (channel->computed)
        return SHOT_OK;
    for (size_t i = 0; i < count; i++) {
        const flat_kind kind = flat_finder_judge(&channel->flat, i);
        if (kind != FLAT_NONE)
            SHOT_TRY(
                mark_flat(self, channel, kind, shot_value_runs_at(channel->flat.runs, i), error));
    }
    return SHOT_OK;
}

/* Where nothing will be looked for, no runs are collected. */
static void look_for_flat(clean_channel *channel, const double *t, const double *y, size_t n) {
    if (!channel->computed)
        flat_finder_push(&channel->flat, t, y, n);
}

/* ---- rows ---- */

static shot_status watch_noise(clean_channel *channel, const double *t, const double *y, size_t n) {
    return channel->interpolated ? SHOT_OK : noise_watch_push(&channel->noise, t, y, n);
}

shot_status clean_channel_row(clean_sink *self, clean_channel *channel, size_t number,
                              shot_error *error) {
    const size_t place = number - self->handed;
    const double t = self->held.column[0][place], y = self->held.column[channel->column][place];
    SHOT_TRY(look_for_zero(self, channel, t, y, error));
    SHOT_TRY(look_for_spikes(self, channel, t, y, error));
    if (isnan(y))
        return SHOT_OK;
    SHOT_TRY(look_for_gaps(self, channel, t, error));
    look_for_flat(channel, &t, &y, 1);
    SHOT_TRY(watch_noise(channel, &t, &y, 1));
    channel->last = t;
    return SHOT_OK;
}

/* Those of a channel that have a value; mostly in each of the rows. */
static void find_samples(const shot_block *rows, const shot_intervals *between, size_t column,
                         clean_samples *s) {
    s->t = rows->column[0];
    s->y = rows->column[column];
    s->n = present_samples(&s->t, &s->y, rows->rows, s->own_t, s->own_y);
    s->between = s->t == rows->column[0] ? *between : intervals_between(s->t, s->n);
}

/* The longest time without a sample among rows in order, the last sample before them included. */
static double longest_silence(const clean_channel *channel, const clean_samples *s, double end) {
    if (s->n == 0)
        return end - channel->last;
    shot_intervals all = s->between;
    intervals_take_one(s->t[0] - channel->last, &all);
    intervals_take_one(end - s->t[s->n - 1], &all);
    return all.longest;
}

bool clean_channel_is_quiet(const clean_sink *self, clean_channel *channel, const shot_block *rows,
                            const shot_intervals *between) {
    const double *t = rows->column[0];
    clean_samples *s = &channel->now;
    find_samples(rows, between, channel->column, s);
    if (channel->seeks_zero && !channel->zero.done)
        return false;
    if (isnan(channel->last) && s->n > 0 && s->t[0] > self->start) /* starts with a gap */
        return false;
    if (longest_silence(channel, s, t[rows->rows - 1]) > self->hole)
        return false;
    return channel->gaps == NULL || shot_sample_gaps_none(channel->gaps, s->t, s->n, &s->between);
}

shot_status clean_channel_quiet_rows(clean_sink *self, clean_channel *channel, shot_error *error) {
    const clean_samples *s = &channel->now;
    if (s->n == 0)
        return SHOT_OK;
    if (channel->gaps != NULL)
        shot_sample_gaps_pass(channel->gaps, s->t, s->n, &s->between);
    look_for_flat(channel, s->t, s->y, s->n);
    SHOT_TRY(watch_noise(channel, s->t, s->y, s->n));
    channel->last = s->t[s->n - 1];
    SHOT_TRY(spike_finder_push(channel->spikes, s->t, s->y, s->n));
    return take_verdicts(self, channel, error);
}

shot_status clean_channel_end(clean_sink *self, clean_channel *channel, shot_error *error) {
    if (channel->seeks_zero && !channel->zero.done) {
        SHOT_TRY(zero_finder_finish(&channel->zero));
        SHOT_TRY(take_zero(self, channel, error));
    }
    SHOT_TRY(end_stretch(self, channel, error));
    if (channel->gaps == NULL)
        return SHOT_OK;
    if (channel->last < self->end)
        SHOT_TRY(shot_sample_gaps_push(channel->gaps, self->end));
    shot_sample_gaps_finish(channel->gaps);
    return clean_report_gaps(self, channel, channel->gaps, error);
}

size_t clean_channel_settled(const clean_sink *self, clean_channel *channel) {
    if (channel->seeks_zero && !channel->zero.done)
        return self->handed;
    skip_missing(self, channel);
    return channel->settled;
}
