/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Repeated and disordered times, spikes, gaps, sensor zero. */
#include <shottrace/filter/clean.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lack_of_memory.h"
#include "filter/clean_parts.h"
#include "filter/named_channels.h"
#include "plain_format.h"

static const shot_option options[] = {
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .argument = "NAME,...",
     .field = offsetof(struct clean_settings, channels),
     .help = "the channels to look at; without it the measured ones that the shot has: pressure, "
             "flow, outflow, weight, temperature, water"},
    {.name = "hold",
     .kind = SHOT_OPTION_LIST,
     .argument = "NAME,...",
     .field = offsetof(struct clean_settings, hold),
     .help = "the logger wrote these channels only where their value changed: a row without one "
             "gets the one before"},
    {.letter = 'w',
     .name = "window",
     .kind = SHOT_OPTION_SPAN,
     .argument = "LENGTH",
     .initial = "1s",
     .field = offsetof(struct clean_settings, window),
     .help = "the window whose median a spike is judged against, a time (1s) or an odd count of "
             "samples (11)"},
    {.name = "threshold",
     .kind = SHOT_OPTION_NUMBER,
     .argument = "X",
     .initial = "5",
     .low = 0,
     .high = INFINITY,
     .field = offsetof(struct clean_settings, threshold),
     .help = "how far from the median a spike is, in standard deviations"},
    {.letter = 'r',
     .name = "replace",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct clean_settings, replace),
     .only = "!keep",
     .help = "put the median of its window in the place of a spike; without it the sample becomes "
             "missing"},
    {.letter = 'k',
     .name = "keep",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct clean_settings, keep),
     .help = "mark spikes and leave the samples as they came"},
    {.letter = 'z',
     .name = "zero",
     .kind = SHOT_OPTION_LIST,
     .argument = "NAME,...",
     .field = offsetof(struct clean_settings, zero),
     .help = "take off what these channels show in the idle part at the start"},
    {.name = "idle",
     .kind = SHOT_OPTION_SPAN,
     .argument = "LENGTH",
     .initial = "2s",
     .field = offsetof(struct clean_settings, idle),
     .only = "zero",
     .help = "the longest idle part that is waited for"},
    {.name = "reorder",
     .kind = SHOT_OPTION_SPAN,
     .argument = "LENGTH",
     .initial = "0.5s",
     .field = offsetof(struct clean_settings, reorder),
     .help = "how late a row may come and still be put in its place, a time or a count of rows"},
    {.name = "gap",
     .kind = SHOT_OPTION_SPAN,
     .argument = "LENGTH",
     .initial = "5",
     .field = offsetof(struct clean_settings, gap),
     .help = "mark gaps longer than this, a time or a multiple of the channel's usual spacing; "
             "0 marks none"},
    {.name = "flat",
     .kind = SHOT_OPTION_NUMBER,
     .argument = "N",
     .initial = "1000",
     .low = 0,
     .high = INFINITY,
     .field = offsetof(struct clean_settings, flat),
     .help = "mark stretches of one value, clipped or stuck, that noise would bring in fewer than "
             "one of so many shots; 0 marks none"},
    {.letter = 'm',
     .name = "marks",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct clean_settings, marks),
     .help = "mark each single change: spike, repeat, disorder, zero"},
    {0}};

/* ---- calls ---- */

/* What the channels of a shot work with. */
static void free_channels(clean_sink *self) {
    for (size_t i = 0; i < self->channel_count; i++)
        clean_channel_free(&self->channels[i]);
    free(self->channels);
    free(self->part);
    self->channels = NULL;
    self->part = NULL;
    self->channel_count = 0;
    shot_sample_gaps_free(self->row_gaps);
    self->row_gaps = NULL;
}

static void forget_shot(clean_sink *self) {
    shot_mark_list_clear(&self->gaps);
    memset(self->ids, 0, sizeof self->ids);
    self->lost_of_all += self->lost;
    self->handed = self->repeats = self->near = self->differing = self->late = self->lost = 0;
    self->latest = self->lost_by = 0;
}

static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the rows of a shot", error);
}

static shot_status begin_channels(clean_sink *self) {
    const struct clean_settings *settings = self->stage.settings;
    self->channels = calloc(self->head.channel_count + 1, sizeof *self->channels);
    self->part = calloc(self->head.channel_count, sizeof *self->part);
    if (self->channels == NULL || self->part == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 1; c < self->head.channel_count; c++) {
        const char *name = self->head.channels[c].name;
        const bool wanted = settings->channels.count > 0
                                ? named_channels_hold(&settings->channels, name)
                                : shot_channel_is_measured(name);
        if (!wanted && !named_channels_hold(&settings->zero, name))
            continue;
        clean_channel *channel = &self->channels[self->channel_count++];
        SHOT_TRY(clean_channel_begin(channel, settings, &self->head, c));
    }
    return SHOT_OK;
}

/* No window reaches over so much time without a sample. */
static double hole_of(const struct clean_settings *settings) {
    const double window = settings->window.samples ? 0 : settings->window.length;
    return fmax(2 * window, 2);
}

/* Of the head the lines that bear a key are wanted later: what is known of noise, what the channels
 * went through, and all for the next part where the clock falls; comments may be long. */
static shot_status keep_head(const shot_head *head, shot_head *out) {
    shot_head wanted = *head;
    wanted.line_count = 0;
    SHOT_TRY(shot_head_copy_again(&wanted, out));
    for (size_t i = 0; i < head->line_count; i++)
        if (head->lines[i].key != NULL)
            SHOT_TRY(shot_head_add_line(out, head->lines[i].key, head->lines[i].value));
    return SHOT_OK;
}

/* The shot has the channels of the one before. */
static void channels_again(clean_sink *self) {
    if (self->row_gaps != NULL)
        shot_sample_gaps_reset(self->row_gaps);
    for (size_t i = 0; i < self->channel_count; i++)
        clean_channel_again(&self->channels[i], self->stage.settings, &self->head);
}

shot_status clean_begin_shot(clean_sink *self, const shot_head *head) {
    const struct clean_settings *settings = self->stage.settings;
    const bool again = self->part != NULL && shot_head_same_channels(&self->head, head);
    forget_shot(self);
    self->hole = hole_of(settings);
    SHOT_TRY(keep_head(head, &self->head));
    SHOT_TRY(shot_rows_restart(&self->held, head->channel_count));
    SHOT_TRY(row_order_begin(&self->order, settings->reorder, head->channel_count));
    SHOT_TRY(carried_values_begin(&self->carried, head, &settings->hold));
    SHOT_TRY(lost_frames_begin(&self->frames, head));
    if (again) {
        channels_again(self);
        return SHOT_OK;
    }
    free_channels(self);
    SHOT_TRY(clean_gaps_new(settings, &self->row_gaps));
    return begin_channels(self);
}

/* Whether name i of list l stands before it, in that list or in an earlier one. */
static bool is_named_before(const shot_texts *const *lists, size_t l, size_t i) {
    for (size_t k = 0; k <= l; k++) {
        const shot_texts before = {lists[k]->items, k < l ? lists[k]->count : i};
        if (named_channels_hold(&before, lists[l]->items[i]))
            return true;
    }
    return false;
}

/* Of a name that is given for several ends once. */
static shot_status tell_missing(clean_sink *self, const shot_head *head, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    const shot_texts *const lists[] = {&settings->channels, &settings->zero, &settings->hold};
    for (size_t l = 0; l < sizeof lists / sizeof *lists; l++)
        for (size_t i = 0; i < lists[l]->count; i++) {
            const shot_texts one = {lists[l]->items + i, 1};
            if (!is_named_before(lists, l, i))
                SHOT_TRY(named_channels_tell_missing(&self->stage.notice, head, &one, "clean",
                                                     self->stage.next, error));
        }
    return SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    clean_sink *self = (clean_sink *)sink;
    const struct clean_settings *settings = self->stage.settings;
    SHOT_TRY(named_channels_check(head, &settings->channels, error));
    SHOT_TRY(named_channels_check(head, &settings->zero, error));
    SHOT_TRY(named_channels_check(head, &settings->hold, error));
    SHOT_TRY(checked(clean_begin_shot(self, head), error));
    self->parts = 0;
    self->turn = shot_stage_turn(&self->stage, head);
    SHOT_TRY(shot_stage_begin(sink, head, error));
    return tell_missing(self, head, error);
}

shot_status clean_settle_all(clean_sink *self, shot_error *error) {
    SHOT_TRY(clean_take_ordered(self, true, error));
    if (self->row_gaps != NULL)
        shot_sample_gaps_finish(self->row_gaps);
    SHOT_TRY(clean_look_for_row_gaps(self, error));
    for (size_t i = 0; i < self->channel_count; i++)
        SHOT_TRY(clean_channel_end(self, &self->channels[i], error));
    SHOT_TRY(clean_hand_on(self, error));
    for (size_t i = 0; i < self->channel_count; i++)
        SHOT_TRY(clean_channel_mark_flat(self, &self->channels[i], error));
    return clean_report_notes(self, error);
}

/* One row, wherever it stands in the order of times. */
static shot_status take_one(clean_sink *self, const shot_block *block, size_t index,
                            shot_error *error) {
    bool changed;
    if (row_order_is_past(&self->order, block->column[0][index])) {
        SHOT_TRY(checked(row_order_stray(&self->order, block, index), error));
        if (row_order_fell(&self->order))
            return clean_fall(self, error);
        return row_order_stands(&self->order) ? clean_leave_out(self, error) : SHOT_OK;
    }
    SHOT_TRY(clean_leave_out(self, error));
    SHOT_TRY(checked(row_order_add(&self->order, block, index, &changed), error));
    if (changed)
        SHOT_TRY(clean_report_change(self, &self->order.change, error));
    return checked(clean_take_ordered(self, false, error), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    clean_sink *self = (clean_sink *)sink;
    const size_t rising = row_order_rising(&self->order, block);
    if (rising > 0) {
        SHOT_TRY(clean_leave_out(self, error));
        SHOT_TRY(checked(row_order_add_rising(&self->order, block, rising), error));
        SHOT_TRY(checked(clean_take_ordered(self, false, error), error));
    }
    for (size_t i = rising; i < block->rows; i++)
        SHOT_TRY(take_one(self, block, i, error));
    return clean_hand_on(self, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    SHOT_TRY(checked(clean_report_upstream((clean_sink *)sink, one), error));
    return shot_stage_mark(sink, one, error);
}

/* Noise is told behind the rows, and with it that a channel is no longer as it was measured. */
static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    clean_sink *self = (clean_sink *)sink;
    if (one->key != NULL && strcmp(one->key, "noise") == 0)
        SHOT_TRY(checked(shot_head_add_line(&self->head, one->key, one->value), error));
    return shot_stage_line(sink, one, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    clean_sink *self = (clean_sink *)sink;
    SHOT_TRY(clean_leave_out(self, error));
    SHOT_TRY(checked(clean_settle_all(self, error), error));
    return shot_stage_end(sink, cut, error);
}

/* All was handed on; that rows are missing, or that a shot is in two, is a failure all the same, so
 * that nobody takes it for whole. */
static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    const clean_sink *self = (clean_sink *)sink;
    SHOT_TRY(shot_stage_close(sink, cut, error));
    if (self->lost_of_all + self->lost > 0)
        return shot_fail(error, SHOT_ERR_DATA, "rows that came too late were left out");
    if (self->falls > 0)
        return shot_fail(error, SHOT_ERR_DATA, "a clock fell, and the shot was cut there");
    return SHOT_OK;
}

static void release(shot_sink *sink) {
    clean_sink *self = (clean_sink *)sink;
    forget_shot(self);
    free_channels(self);
    shot_mark_list_free(&self->gaps);
    shot_rows_free(&self->held);
    row_order_free(&self->order);
    carried_values_free(&self->carried);
    lost_frames_free(&self->frames);
    shot_head_free(&self->head);
    shot_text_free(&self->name);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {begin, rows,   mark, line, end, shot_stage_pause,
                                      close, release};

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct clean_settings *settings = making->settings;
    shot_stage *stage;
    *out = NULL;
    if (!(settings->window.length > 0) ||
        (settings->window.samples && fmod(settings->window.length, 2) != 1))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--window: give a time above 0 or an odd count of samples");
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(clean_sink), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

/* A row goes when in each channel the window of the row behind it is whole, and of one that strays.
 */
static void latency(const void *values, char *out, size_t room) {
    const struct clean_settings *settings = values;
    const double reorder = settings->reorder.length, half = settings->window.length / 2;
    const char *idle = settings->zero.count > 0 ? "; with --zero the idle part first" : "";
    if (!settings->window.samples && !settings->reorder.samples)
        shot_format(out, room,
                    "%g s and until the next two rows (%g s for the order of rows, then %g s of "
                    "window); for a channel with fewer than six values a window until its next "
                    "two, the first until its fifth, and %g s where it falls silent (--channel "
                    "leaves it out)%s",
                    reorder + half, reorder, half, reorder + half + hole_of(settings), idle);
    else
        shot_format(out, room,
                    "%g %s for the order of rows, then %g %s of window, and until the next two "
                    "rows, of the slowest channel%s",
                    reorder, settings->reorder.samples ? "rows" : "s",
                    settings->window.samples ? floor(half) : half,
                    settings->window.samples ? "samples" : "s", idle);
}

static const char *const examples[] = {
    "shot-clean shot.csv | shot-segment | shot-report",
    "shot-clean --zero pressure --marks shot.csv | shot-marks",
    NULL,
};

const shot_description shot_clean = {
    .name = "clean",
    .purpose = "mend times, take out spikes, set a sensor's zero",
    .details =
        "Puts rows that came late in the order of their times, leaves out and counts one that "
        "strayed farther (the exit status is then 1), cuts the shot where its clock falls and goes "
        "on from there (likewise), merges rows of one time by "
        "the mean of each value, and makes spikes missing: samples far from the median of "
        "their window that are jumped to and back from, and that no pump or sensor makes by "
        "itself (Hampel identifier; Davies & Gather 1993). Gaps are marked, and so are stretches "
        "in which a sensor shows one value for longer than its noise allows: clip at the highest "
        "or lowest of the shot, else stuck; not behind shot-smooth, shot-resample, shot-align and "
        "shot-average, whose samples are no readings any more. What was done is counted in notes "
        "at the end of the "
        "shot. What is not asked for stays bit for bit, and samples that stay are not touched, so "
        "that their noise is what it was; where samples change, '# noise:' tells what it was.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .traits = SHOT_TRAIT_DISORDER,
    .settings_size = sizeof(struct clean_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
