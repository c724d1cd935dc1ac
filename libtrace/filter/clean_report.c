/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-clean: what it says. */
#include "filter/clean_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/text.h>

#include "filter/numbered_id.h"
#include "plain_format.h"

static const char *const kind_names[CLEAN_KINDS] = {"gap",  "spike", "repeat", "disorder",
                                                    "zero", "clip",  "stuck"};

/* ---- marks ---- */

/* Ids are the kind and a number, so that they cannot meet those of detectors. */
shot_status clean_report_mark(clean_sink *self, clean_kind kind, const clean_channel *channel,
                              shot_mark *mark, shot_error *error) {
    char id[NUMBERED_ID_ROOM];
    SHOT_TRY(clean_hand_on(self, error));
    numbered_id_write(id, kind_names[kind], self->turn, ++self->ids[kind]);
    mark->kind = (char *)kind_names[kind];
    mark->id = id;
    if (channel != NULL)
        mark->channel = (char *)channel->name;
    if (channel != NULL && !isnan(mark->value))
        mark->unit = (char *)channel->unit;
    const shot_status status = shot_sink_mark(self->stage.next, mark, error);
    mark->id = NULL; /* it ends here */
    return status;
}

shot_status clean_report_upstream(clean_sink *self, const shot_mark *mark) {
    for (size_t kind = 0; kind < CLEAN_KINDS; kind++) {
        const size_t number = numbered_id_number(mark->id, kind_names[kind]);
        if (number > self->ids[kind])
            self->ids[kind] = number;
    }
    if (strcmp(mark->kind, kind_names[CLEAN_GAP]) != 0)
        return SHOT_OK;
    return shot_mark_list_add(&self->gaps, mark);
}

/* A gap of the rows is one of every channel, and need not be said again. */
static bool is_known(const clean_sink *self, const clean_channel *channel, const shot_gap *gap) {
    for (size_t i = self->gaps.count; i-- > 0;) {
        const shot_mark *known = &self->gaps.marks[i];
        const bool same = known->channel == NULL ||
                          (channel != NULL && strcmp(known->channel, channel->name) == 0);
        if (same && known->from <= gap->from && gap->to <= known->to)
            return true;
    }
    return false;
}

static shot_status report_gap(clean_sink *self, const clean_channel *channel, const shot_gap *gap,
                              shot_error *error) {
    if (is_known(self, channel, gap))
        return SHOT_OK;
    shot_mark mark = shot_mark_none();
    mark.from = gap->from;
    mark.to = gap->to;
    SHOT_TRY(clean_report_mark(self, CLEAN_GAP, channel, &mark, error));
    return channel == NULL ? shot_mark_list_add(&self->gaps, &mark) : SHOT_OK;
}

shot_status clean_report_gaps(clean_sink *self, const clean_channel *channel,
                              shot_sample_gaps *gaps, shot_error *error) {
    for (;;) {
        shot_gap gap;
        bool ready;
        SHOT_TRY(shot_sample_gaps_next(gaps, &gap, &ready));
        if (!ready)
            return SHOT_OK;
        SHOT_TRY(report_gap(self, channel, &gap, error));
    }
}

shot_status clean_report_lost(clean_sink *self, double time, double late, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    if (self->lost++ == 0)
        self->lost_at = time;
    self->lost_by = fmax(self->lost_by, late);
    if (!settings->marks)
        return SHOT_OK;
    shot_mark mark = shot_mark_none();
    mark.from = mark.to = time;
    mark.value = late;
    mark.unit = (char *)"s";
    mark.note = (char *)"too late, and left out";
    return clean_report_mark(self, CLEAN_DISORDER, NULL, &mark, error);
}

shot_status clean_report_change(clean_sink *self, const row_change *change, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    self->repeats += change->merged;
    self->near += change->nearly;
    self->differing += change->differs;
    for (size_t i = 0; i < self->channel_count && change->differs; i++)
        self->channels[i].changed |= change->differing[self->channels[i].column];
    self->late += change->late > 0;
    self->latest = fmax(self->latest, change->late);
    if (!settings->marks)
        return SHOT_OK;
    shot_mark mark = shot_mark_none();
    mark.from = mark.to = change->time;
    if (change->late > 0) {
        mark.value = change->late;
        mark.unit = (char *)"s";
        SHOT_TRY(clean_report_mark(self, CLEAN_DISORDER, NULL, &mark, error));
    }
    if (!change->merged)
        return SHOT_OK;
    mark.value = NAN;
    mark.unit = NULL;
    mark.note = change->differs ? (char *)"the values differ" : NULL;
    return clean_report_mark(self, CLEAN_REPEAT, NULL, &mark, error);
}

/* ---- notes ---- */

/* Told to whoever runs the filter, too: something is lost. */
static shot_status note_lost(clean_sink *self, shot_error *error) {
    char words[200];
    shot_format(words, sizeof words,
                "%zu row%s came too late to be put in order and %s left out, the first at %.10g s; "
                "%.3g s late at most: a larger --reorder takes %s in",
                self->lost, shot_plural(self->lost), self->lost == 1 ? "was" : "were",
                self->lost_at, self->lost_by, self->lost == 1 ? "it" : "them");
    shot_notice_say(&self->stage.notice, "shot '%s': %s",
                    self->head.name != NULL ? self->head.name : "", words);
    return shot_sink_say(self->stage.next, "note", error, "shot-clean: %s", words);
}

/* Times that were taken for equal. */
static shot_status note_near(clean_sink *self, shot_error *error) {
    if (self->near == 0)
        return SHOT_OK;
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-clean: %zu of these %s less than a fifth of the mean spacing "
                         "behind the row before: rows that are stamped when they are received come "
                         "in such bursts, and their own times are not known",
                         self->near, self->near == 1 ? "was" : "were");
}

static shot_status note_rows(clean_sink *self, shot_error *error) {
    if (self->lost > 0)
        SHOT_TRY(note_lost(self, error));
    if (self->late > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-clean: %zu row%s came late, by up to %.3g s, and %s put in "
                               "order",
                               self->late, shot_plural(self->late), self->latest,
                               self->late == 1 ? "was" : "were"));
    if (self->repeats > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-clean: %zu row%s of a time that was there already %s merged "
                               "by the mean of each value; %zu differed",
                               self->repeats, shot_plural(self->repeats),
                               self->repeats == 1 ? "was" : "were", self->differing));
    return note_near(self, error);
}

static const char *fate(const struct clean_settings *settings) {
    return settings->keep      ? "left as it came"
           : settings->replace ? "replaced by the median of its window"
                               : "made missing";
}

static const char *fates(const struct clean_settings *settings) {
    return settings->keep      ? "left as they came"
           : settings->replace ? "replaced by the medians of their windows"
                               : "made missing";
}

static shot_status note_spikes(clean_sink *self, const clean_channel *channel, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    const char *space = *channel->unit ? " " : "";
    if (channel->spike_count == 0)
        return SHOT_OK;
    if (channel->spike_count == 1)
        return shot_sink_say(self->stage.next, "note", error,
                             "shot-clean: 1 spike in %s, of %.3g%s%s at %.10g s, was %s",
                             channel->name, channel->largest, space, channel->unit,
                             channel->largest_at, fate(settings));
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-clean: %zu spikes in %s, the largest of %.3g%s%s at %.10g s, "
                         "were %s",
                         channel->spike_count, channel->name, channel->largest, space,
                         channel->unit, channel->largest_at, fates(settings));
}

static shot_status note_zero(clean_sink *self, const clean_channel *channel, shot_error *error) {
    const sensor_zero *found = &channel->zero.result;
    const char *space = *channel->unit ? " " : "";
    if (!channel->seeks_zero)
        return SHOT_OK;
    if (isnan(found->zero))
        return shot_sink_say(self->stage.next, "note", error,
                             "shot-clean: %s keeps its zero: fewer than 5 samples at the start "
                             "before it moves",
                             channel->name);
    if (!clean_channel_has_zero(channel))
        return shot_sink_say(self->stage.next, "note", error,
                             "shot-clean: %s keeps its zero: the log starts at %.4g%s%s, too far "
                             "from 0 for an idle sensor",
                             channel->name, found->zero, space, channel->unit);
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-clean: %s: a zero of %.6g%s%s was taken off, the median of %zu "
                         "samples from %.10g to %.10g s",
                         channel->name, found->zero, space, channel->unit, found->n, found->from,
                         found->to);
}

static shot_status note_flat(clean_sink *self, const clean_channel *channel, shot_error *error) {
    if (channel->flat_count == 0)
        return SHOT_OK;
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-clean: %s: %zu samples in %zu stretch%s look clipped or stuck; they "
                         "are left as they came",
                         channel->name, channel->flat_samples, channel->flat_count,
                         channel->flat_count == 1 ? "" : "es");
}

/* Of which channels clipped and stuck stretches could not be told, where no shot-clean looked
 * before. */
static shot_status note_computed(clean_sink *self, shot_error *error) {
    shot_text names = {0};
    shot_status status = SHOT_OK;
    if (self->turn > 0)
        return SHOT_OK;
    for (size_t i = 0; i < self->channel_count && status == SHOT_OK; i++)
        if (self->channels[i].computed)
            status = shot_text_add_format(&names, "%s%s", names.length > 0 ? ", " : "",
                                          self->channels[i].name);
    if (status == SHOT_OK && names.length > 0)
        status = shot_sink_say(self->stage.next, "note", error,
                               "shot-clean: no clipped or stuck stretches were looked for in %s: a "
                               "filter before computed the samples, and runs of one value tell "
                               "nothing; clean before it",
                               names.bytes);
    shot_text_free(&names);
    return status;
}

static shot_status note_frames(clean_sink *self, shot_error *error) {
    const lost_frames *frames = &self->frames;
    if (frames->count == 0)
        return SHOT_OK;
    return shot_sink_say(self->stage.next, "note", error,
                         "shot-clean: %zu row%s of nothing but zeros amid others, the first at "
                         "%.10g s, %s made missing",
                         frames->count, shot_plural(frames->count), frames->first,
                         frames->count == 1 ? "was" : "were");
}

/* What the noise was before samples were changed, where nobody has told yet. */
static shot_status tell_noise(clean_sink *self, clean_channel *channel, shot_error *error) {
    shot_noise_line line;
    shot_noise found;
    if (!channel->changed || shot_noise_line_find(&self->head, channel->name, &line) ||
        !noise_watch_estimate(&channel->noise, &found))
        return SHOT_OK;
    line = (shot_noise_line){found.sd, found.correlation};
    return shot_noise_line_say(self->stage.next, channel->name, &line, error);
}

shot_status clean_report_notes(clean_sink *self, shot_error *error) {
    for (size_t i = 0; i < self->channel_count; i++)
        SHOT_TRY(tell_noise(self, &self->channels[i], error));
    SHOT_TRY(note_rows(self, error));
    SHOT_TRY(note_frames(self, error));
    SHOT_TRY(carried_values_tell(&self->carried, &self->head, "clean", self->stage.next, error));
    for (size_t i = 0; i < self->channel_count; i++) {
        SHOT_TRY(note_zero(self, &self->channels[i], error));
        SHOT_TRY(note_spikes(self, &self->channels[i], error));
        SHOT_TRY(note_flat(self, &self->channels[i], error));
    }
    return note_computed(self, error);
}
