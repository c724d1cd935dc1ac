/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-align: delays between channels, and the origin of time. */
#include <shottrace/filter/align.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

#include "signal/channel_delay.h"
#include "filter/named_channels.h"
#include "filter/noise_watch.h"
#include "trace/time_origin.h"

struct align_settings {
    shot_texts channels;
    const char *reference;
    double max_delay, delay;
    bool apply;
    const char *origin;
};

static const shot_option options[] = {
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct align_settings, channels),
     .argument = "NAME,...",
     .help = "channels whose delay is asked for"},
    {.name = "reference",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct align_settings, reference),
     .argument = "NAME",
     .initial = "pressure",
     .only = "channel,!delay",
     .help = "the channel that they are late against"},
    {.name = "max-delay",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct align_settings, max_delay),
     .argument = "TIME",
     .unit = "s",
     .initial = "3s",
     .low = 1e-6,
     .high = 1e6,
     .only = "channel,!delay",
     .help = "longest delay looked for, early or late"},
    {.letter = 'a',
     .name = "apply",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct align_settings, apply),
     .only = "channel",
     .help = "shift the channels so that the delay is gone"},
    {.letter = 'd',
     .name = "delay",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct align_settings, delay),
     .argument = "TIME",
     .unit = "s",
     .low = -1e6,
     .high = 1e6,
     .only = "channel",
     .help = "a delay that is known: shift the channels by it instead of looking for one"},
    {.letter = 'o',
     .name = "origin",
     .kind = SHOT_OPTION_TEXT,
     .field = offsetof(struct align_settings, origin),
     .argument = "KIND",
     .help = "let time 0 be the start of the first mark of this kind"},
    {0}};

typedef struct aligner {
    shot_stage stage;
    shot_table shot;
} aligner;

/* `# note: shot-align: ...` */
static shot_status note(aligner *self, const char *what, const char *channel, const char *why) {
    shot_text text = {0};
    shot_status status = shot_text_add_format(&text, "shot-align: %s '%s': %s", what, channel, why);
    if (status == SHOT_OK)
        status = shot_head_add_line(&self->shot.head, "note", text.bytes);
    shot_text_free(&text);
    return status;
}

/* Which of them it is nothing in the two courses tells. */
static shot_status note_rival(aligner *self, const char *channel, const channel_delay *found) {
    shot_text text = {0};
    shot_status status = shot_text_add_format(
        &text,
        "the two courses repeat themselves, and %.4g s fits as well as %.4g s; a shorter "
        "--max-delay leaves one of them",
        found->rival, found->delay);
    if (status == SHOT_OK)
        status = note(self, "no delay of", channel, text.bytes);
    shot_text_free(&text);
    return status;
}

static shot_status mark_delay(aligner *self, char *channel, const channel_delay *found) {
    const struct align_settings *settings = self->stage.settings;
    shot_text text = {0};
    shot_mark mark = shot_mark_none();
    mark.kind = "delay";
    mark.from = found->from;
    mark.to = found->to;
    mark.channel = channel;
    mark.unit = "s";
    mark.value = found->delay;
    mark.value_low = found->delay - 1.959963984540054 * found->se;
    mark.value_high = found->delay + 1.959963984540054 * found->se;
    mark.level = 0.95;
    shot_status status = shot_text_add_format(
        &text, "late against %s%s, correlation %.3f", settings->reference,
        found->opposite ? ", which falls where it rises" : "", found->correlation);
    mark.note = text.bytes;
    if (status == SHOT_OK)
        status = shot_mark_list_new_id(&self->shot.marks, "d", &mark.id);
    if (status == SHOT_OK)
        status = shot_mark_list_add(&self->shot.marks, &mark);
    free(mark.id);
    shot_text_free(&text);
    return status;
}

/* The delay of a channel, given or found; *known is false where there is none. */
static shot_status delay_of(aligner *self, char *channel, double *delay, bool *known) {
    const struct align_settings *settings = self->stage.settings;
    const double *y = shot_table_column(&self->shot, channel);
    const double *reference = shot_table_column(&self->shot, settings->reference);
    channel_delay found;
    *known = false;
    *delay = settings->delay;
    *known = !isnan(settings->delay);
    if (*known || reference == NULL)
        return SHOT_OK;
    const shot_status status = channel_delay_find(
        self->shot.rows.column[0], reference, y, self->shot.rows.rows, settings->max_delay, &found);
    if (status == SHOT_ERR_SINGULAR || status == SHOT_ERR_RANGE) /* values near the largest */
        return note(self, "no delay of", channel,
                    "the common stretch is shorter than three times --max-delay and 24 samples, or "
                    "no delay stands out");
    SHOT_TRY(status);
    if (!isnan(found.rival))
        return note_rival(self, channel, &found);
    *delay = found.delay;
    *known = true;
    return mark_delay(self, channel, &found);
}

/* `# noise:` of a channel that will be interpolated, if nobody has written it yet. */
static shot_status remember_noise(aligner *self, const char *channel) {
    const double *t = self->shot.rows.column[0], *y = shot_table_column(&self->shot, channel);
    shot_noise_line line;
    shot_noise noise;
    noise_watch watch = {0};
    if (shot_noise_line_find(&self->shot.head, channel, &line))
        return SHOT_OK;
    shot_status status = noise_watch_push(&watch, t, y, self->shot.rows.rows);
    if (status == SHOT_OK && noise_watch_estimate(&watch, &noise)) {
        line = (shot_noise_line){noise.sd, noise.correlation};
        /* to ourselves: our `line` keeps it with the shot */
        status = shot_noise_line_say(&self->stage.sink, channel, &line, NULL);
    }
    noise_watch_free(&watch);
    return status;
}

static shot_status align_channel(aligner *self, char *channel) {
    const struct align_settings *settings = self->stage.settings;
    double delay;
    bool known;
    if (shot_table_column(&self->shot, channel) == NULL)
        return SHOT_OK;
    SHOT_TRY(delay_of(self, channel, &delay, &known));
    if (!known || !(settings->apply || !isnan(settings->delay)))
        return SHOT_OK;
    SHOT_TRY(remember_noise(self, channel));
    const ptrdiff_t c = shot_head_channel(&self->shot.head, channel);
    return channel_delay_remove(self->shot.rows.column[0], self->shot.rows.column[c],
                                self->shot.rows.rows, delay);
}

static shot_status move_origin(aligner *self) {
    const struct align_settings *settings = self->stage.settings;
    const shot_mark_list *marks = &self->shot.marks;
    if (settings->origin == NULL)
        return SHOT_OK;
    for (size_t i = 0; i < marks->count; i++)
        if (marks->marks[i].kind != NULL && strcmp(marks->marks[i].kind, settings->origin) == 0 &&
            !isnan(marks->marks[i].from) && shot_mark_list_stands(marks, i))
            return time_origin_move(&self->shot, marks->marks[i].from);
    return note(self, "origin left where it was: no mark", settings->origin,
                "run its detector before shot-align");
}

/* A delay as long as the shot would leave nothing of the channel. */
static shot_status check_delay(const aligner *self, shot_error *error) {
    const struct align_settings *settings = self->stage.settings;
    const shot_rows *rows = &self->shot.rows;
    const double *t = rows->rows > 1 ? rows->column[0] : NULL;
    if (t == NULL || !(fabs(settings->delay) >= t[rows->rows - 1] - t[0]))
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA, "--delay: shot '%s' lasts %.4g s, no longer than %.4g s",
                     self->shot.head.name, t[rows->rows - 1] - t[0], fabs(settings->delay));
}

static shot_status align_shot(aligner *self) {
    const struct align_settings *settings = self->stage.settings;
    const shot_texts *channels = &settings->channels;
    for (size_t i = 0; i < channels->count; i++) {
        const shot_texts before = {channels->items, i};
        if (!named_channels_hold(&before, channels->items[i])) /* none is shifted twice */
            SHOT_TRY(align_channel(self, channels->items[i]));
    }
    SHOT_TRY(move_origin(self));
    return self->stage.history == NULL
               ? SHOT_OK
               : time_origin_add_early_line(&self->shot, "history", self->stage.history);
}

/* To ourselves: our `line` keeps the notes with the shot. */
static shot_status tell_missing(aligner *self, const shot_head *head, const shot_texts *names,
                                shot_error *error) {
    return named_channels_tell_missing(&self->stage.notice, head, names, "align", &self->stage.sink,
                                       error);
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    aligner *self = (aligner *)sink;
    const struct align_settings *settings = self->stage.settings;
    const shot_texts *channels = &settings->channels;
    char *named = (char *)settings->reference;
    const shot_texts reference = {&named, channels->count > 0 && isnan(settings->delay) ? 1 : 0};
    SHOT_TRY(named_channels_check(head, channels, error));
    SHOT_TRY(named_channels_check(head, &reference, error));
    SHOT_TRY(shot_table_begin(&self->shot, head));
    SHOT_TRY(tell_missing(self, head, channels, error));
    return named_channels_hold(channels, named) ? SHOT_OK
                                                : tell_missing(self, head, &reference, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return shot_table_rows(&((aligner *)sink)->shot, block);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return shot_table_mark(&((aligner *)sink)->shot, one);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return shot_table_line(&((aligner *)sink)->shot, one);
}

/* What cannot be aligned goes on as it came. */
static shot_status give_up(aligner *self, shot_status status) {
    self->shot.cut = true;
    if (shot_table_emit(&self->shot, self->stage.next, NULL) == SHOT_OK)
        shot_sink_close(self->stage.next, true, NULL);
    return status;
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    aligner *self = (aligner *)sink;
    self->shot.cut = cut;
    shot_status status = check_delay(self, error);
    if (status != SHOT_OK)
        return give_up(self, status);
    status = align_shot(self);
    if (status == SHOT_OK)
        return shot_table_emit(&self->shot, self->stage.next, error);
    shot_fail(error, status, "shot '%s': %s", self->shot.head.name,
              status == SHOT_ERR_SYNTAX ? "'# t0:' is not a number of seconds"
                                        : shot_status_text(status));
    return status == SHOT_ERR_MEMORY ? status : give_up(self, status);
}

static void release(shot_sink *sink) {
    shot_table_free(&((aligner *)sink)->shot);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, mark, line, end, shot_stage_pause, shot_stage_close, release};

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct align_settings *settings = making->settings;
    shot_stage *stage = NULL;
    *out = NULL;
    if (settings->channels.count == 0 && settings->origin == NULL)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "nothing to align; name channels with --channel, or a mark with --origin");
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(aligner), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

static const char *const examples[] = {
    "shot-align --channel flow --reference pressure < shot.csv | shot-marks",
    "shot-align --channel weight --delay 0.4s < shot.csv",
    "shot-segment < shot.csv | shot-align --origin preinfusion",
    NULL,
};

const shot_description shot_align = {
    .name = "align",
    .purpose = "delays between channels, and where time begins",
    .details =
        "Finds how late a channel is against another from their cross-correlation, to a fraction "
        "of "
        "a sample, and adds a mark 'delay' with its 95 % interval; the channels may rise together "
        "or one against the other. With --apply the channel is shifted by that: each row that had "
        "a sample gets the value that the monotone cubic through the channel's samples has at the "
        "later time. The interval is that of a delay that stays the same throughout, between "
        "curves of the same shape.\n"
        "--origin makes the start of a mark time 0: rows and marks move, and '# t0:' keeps the "
        "log's own clock. What cannot be known is said in a '# note:', and passes unchanged.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct align_settings),
    .options = options,
    .make = make,
    .latency = shot_latency_shot,
};
