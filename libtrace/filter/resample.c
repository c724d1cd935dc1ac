/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-resample: a shot on a uniform grid.  Each channel goes its own way to the grid; rows are
 * handed on as soon as all of them are decided. */
#include <shottrace/filter/resample.h>

#include <math.h>
#include <stdlib.h>

#include "filter/resample_parts.h"
#include "filter/standard_errors.h"
#include "plain_format.h"

static const shot_option options[] = {
    {.letter = 'r',
     .name = "rate",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct resample_settings, rate),
     .argument = "RATE",
     .unit = "Hz",
     .low = 1e-6,
     .high = 1e9,
     .help = "rows a second on the new grid; 20 if neither this nor --step is given"},
    {.letter = 's',
     .name = "step",
     .kind = SHOT_OPTION_QUANTITY,
     .field = offsetof(struct resample_settings, step),
     .argument = "TIME",
     .unit = "s",
     .low = 1e-9,
     .high = 1e6,
     .only = "!rate",
     .help = "time between two rows of the new grid"},
    {.letter = 'm',
     .name = "method",
     .kind = SHOT_OPTION_CHOICE,
     .field = offsetof(struct resample_settings, method),
     .argument = "NAME",
     .choices = "linear|cubic|sinc",
     .initial = "cubic",
     .help = "linear: straight lines between samples; cubic: a curve that never leaves the samples "
             "around it; sinc: the band-limited signal, for fast and even samples"},
    {.letter = 'g',
     .name = "max-gap",
     .kind = SHOT_OPTION_SPAN,
     .field = offsetof(struct resample_settings, max_gap),
     .argument = "LENGTH",
     .initial = "5",
     .low = 0,
     .high = 1e9,
     .help = "the longest interval between two samples of a channel that is bridged: a time (2s), "
             "or a multiple of the channel's usual interval (5); a longer one stays missing"},
    {.letter = 'e',
     .name = "errors",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct resample_settings, errors),
     .help = "add the standard error of each measured channel, NAME.se"},
    {0}};

static shot_status out_of_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for resampling");
}

/* Of a channel's way to the grid, with words. */
static shot_status failed(const resampler *self, shot_status status, shot_error *error) {
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(error);
    if (status == SHOT_ERR_RANGE)
        return shot_fail(error, SHOT_ERR_DATA,
                         "the samples are over a million times as dense as a grid of %g s; choose "
                         "a shorter --step",
                         self->grid.step);
    return shot_fail(error, status, "times do not rise before %g s; run shot-clean", self->last);
}

static void clear_channels(resampler *self) {
    for (size_t c = 0; c < self->count; c++) {
        resample_channel_clear(&self->channels[c]);
        noise_watch_free(&self->noise[c]);
    }
    free(self->channels);
    free(self->noise);
    free(self->errors);
    free(self->block);
    self->channels = NULL;
    self->noise = NULL;
    self->errors = NULL;
    self->block = NULL;
    self->count = 0;
}

/* Channels are kept from shot to shot, with the filters that they have made. */
static shot_status set_channels(resampler *self, size_t count, shot_error *error) {
    const struct resample_settings *settings = self->stage.settings;
    const resample_reach reach = {settings->max_gap.length, settings->max_gap.samples};
    if (self->block != NULL && count == self->count)
        return SHOT_OK;
    clear_channels(self);
    self->channels = calloc(count + 1, sizeof *self->channels);
    self->noise = calloc(count + 1, sizeof *self->noise);
    self->errors = calloc(count + 1, sizeof *self->errors);
    self->block = calloc(2 * count + 1, sizeof *self->block);
    if (self->channels == NULL || self->noise == NULL || self->errors == NULL ||
        self->block == NULL)
        return out_of_memory(error);
    self->count = count;
    for (size_t c = 0; c < count; c++) {
        resample_channel_init(&self->channels[c], &self->grid, (resample_method)settings->method,
                              reach, settings->errors);
        self->channels[c].run.places = &self->places;
        self->noise[c].way = (noise_way){&self->times, settings->errors};
        self->noise[c].shared = &self->scratch;
    }
    return SHOT_OK;
}

static shot_status hand_on_head(resampler *self, shot_error *error) {
    shot_head head = {0};
    shot_status status = shot_head_borrow(&self->head, &head);
    for (size_t c = 0; c < self->count && status == SHOT_OK; c++)
        if (self->errors[c].wanted)
            status = standard_errors_add_channel(&self->head, c + 1, NULL, ".se", 0, &head, error);
    if (status == SHOT_ERR_MEMORY)
        status = out_of_memory(error);
    if (status == SHOT_OK)
        status = shot_stage_begin(&self->stage.sink, &head, error);
    shot_head_give_back(&self->head, &head);
    return status;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    resampler *self = (resampler *)sink;
    SHOT_TRY(set_channels(self, head->channel_count - 1, error));
    if (shot_head_copy_again(head, &self->head) != SHOT_OK ||
        shot_rows_restart(&self->held, head->channel_count) != SHOT_OK)
        return out_of_memory(error);
    for (size_t c = 0; c < self->count; c++)
        noise_watch_reset(&self->noise[c]);
    self->begun = false;
    resample_choose_errors(self);
    return hand_on_head(self, error);
}

/* The columns of the first n rows that are decided, gains made standard errors; how many. */
static size_t gather_columns(resampler *self, size_t n) {
    size_t count = self->count + 1;
    self->block[0] = self->clock.value;
    for (size_t c = 0; c < self->count; c++) {
        resample_column *column = &self->channels[c].column;
        self->block[c + 1] = column->value;
        if (!self->errors[c].wanted)
            continue;
        for (size_t r = 0; r < n; r++)
            column->gain[r] = self->errors[c].is.sd * sqrt(column->gain[r]);
        self->block[count++] = column->gain;
    }
    return count;
}

/* Hand on the rows that every channel has decided. */
static shot_status emit(resampler *self, shot_error *error) {
    size_t n = self->clock.count;
    for (size_t c = 0; c < self->count; c++)
        n = self->channels[c].column.count < n ? self->channels[c].column.count : n;
    if (n == 0)
        return SHOT_OK;
    const shot_block block = {n, gather_columns(self, n), self->block};
    SHOT_TRY(shot_sink_rows(self->stage.next, &block, error));
    resample_column_drop(&self->clock, n);
    for (size_t c = 0; c < self->count; c++)
        resample_column_drop(&self->channels[c].column, n);
    return SHOT_OK;
}

/* The times of the places before k. */
static shot_status advance_clock(resampler *self, int64_t k) {
    enum { SOME = 512 };
    while (self->clock.next < k) {
        double time[SOME];
        const size_t n = k - self->clock.next < SOME ? (size_t)(k - self->clock.next) : SOME;
        resample_grid_times(&self->grid, self->clock.next, 1, n, time);
        SHOT_TRY(resample_column_add(&self->clock, time, NULL, n));
    }
    return SHOT_OK;
}

/* The first place after time t. */
static int64_t place_after(const resampler *self, double t) {
    const int64_t k = resample_grid_first(&self->grid, t, 1);
    return resample_grid_time(&self->grid, k, 1) > t ? k : k + 1;
}

static shot_status begin_rows(resampler *self, double t, shot_error *error) {
    if (fabs(t) / self->grid.step > 1e12)
        return shot_fail(error, SHOT_ERR_DATA,
                         "time %g s is too far from 0 for a grid of %g s; choose a longer --step",
                         t, self->grid.step);
    const int64_t k = resample_grid_first(&self->grid, t, 1);
    for (size_t c = 0; c < self->count; c++)
        resample_channel_begin(&self->channels[c], k);
    resample_column_begin(&self->clock, k);
    self->begun = true;
    return SHOT_OK;
}

/* Rows first .. last (not included), between which no time jumps. */
static shot_status take_rows(resampler *self, const shot_block *block, size_t first, size_t last,
                             shot_error *error) {
    const double *t = block->column[0];
    shot_status status =
        first < last ? advance_clock(self, place_after(self, t[last - 1])) : SHOT_OK;
    for (size_t c = 0; c < self->count && status == SHOT_OK; c++) {
        const double *y = block->column[c + 1];
        status =
            resample_channel_push_block(&self->channels[c], t + first, y + first, last - first);
        if (status == SHOT_OK && self->held.rows == 0)
            status = resample_watch(self, c, t + first, y + first, last - first);
        if (status == SHOT_OK)
            status = resample_channel_flush(&self->channels[c]);
    }
    return status == SHOT_OK ? emit(self, error) : failed(self, status, error);
}

/* A long time without rows is passed in steps, so that its empty rows need not all be held. */
enum { JUMP = 4096 };

/* Rows: at 20 a second two months, at 1000 a day. */
static const double LONGEST_JUMP = 1e8;

static shot_status pass_jump(resampler *self, double t, shot_error *error) {
    const int64_t k = resample_grid_first(&self->grid, t, 1);
    while (self->clock.next < k) {
        const int64_t to = self->clock.next + JUMP < k ? self->clock.next + JUMP : k;
        shot_status status = advance_clock(self, to);
        for (size_t c = 0; c < self->count && status == SHOT_OK; c++)
            status = resample_channel_push(&self->channels[c],
                                           resample_grid_time(&self->grid, to - 1, 1), NAN);
        if (status != SHOT_OK)
            return failed(self, status, error);
        SHOT_TRY(emit(self, error));
    }
    return SHOT_OK;
}

/* No more rows: what waited goes out. */
static shot_status finish_rows(resampler *self, shot_error *error) {
    for (size_t c = 0; c < self->count; c++) {
        const shot_status status = resample_channel_finish(&self->channels[c], self->clock.next);
        if (status != SHOT_OK)
            return failed(self, status, error);
    }
    SHOT_TRY(emit(self, error));
    return resample_tell_noise(self, error);
}

/* A clock that was set while it ran would fill the disk with empty rows. */
static shot_status refuse_jump(resampler *self, double t, shot_error *error) {
    const shot_status status =
        shot_fail(error, SHOT_ERR_DATA,
                  "the time jumps from %.10g to %.10g s, over %.2g rows of the grid; cut the log "
                  "there, or choose a longer --step",
                  self->last, t, (t - self->last) / self->grid.step);
    return finish_rows(self, NULL) == SHOT_OK ? shot_stage_give_up(&self->stage.sink, status)
                                              : status;
}

static shot_status pass_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    resampler *self = (resampler *)sink;
    const double *t = block->column[0];
    size_t first = 0;
    for (size_t i = 0; i < block->rows; i++) {
        if (!self->begun) {
            const shot_status status = begin_rows(self, t[i], error);
            if (status != SHOT_OK)
                return shot_stage_give_up(sink, status);
        } else if (t[i] - self->last > JUMP * self->grid.step) {
            SHOT_TRY(take_rows(self, block, first, i, error));
            if (t[i] - self->last > LONGEST_JUMP * self->grid.step)
                return refuse_jump(self, t[i], error);
            SHOT_TRY(pass_jump(self, t[i], error));
            first = i;
        }
        self->last = t[i];
    }
    return take_rows(self, block, first, block->rows, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    resampler *self = (resampler *)sink;
    if (!self->wait)
        return pass_rows(sink, block, error);
    return shot_rows_append(&self->held, block) == SHOT_OK ? SHOT_OK : out_of_memory(error);
}

/* Those that waited for the noise. */
static shot_status pass_held(shot_sink *sink, shot_error *error) {
    resampler *self = (resampler *)sink;
    const shot_block block = shot_rows_front(&self->held, self->held.rows);
    if (resample_learn_noise(self) != SHOT_OK)
        return out_of_memory(error);
    return block.rows > 0 ? pass_rows(sink, &block, error) : SHOT_OK;
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    if (shot_head_add_line(&((resampler *)sink)->head, one->key, one->value) != SHOT_OK)
        return out_of_memory(error);
    return shot_stage_line(sink, one, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    resampler *self = (resampler *)sink;
    if (self->wait)
        SHOT_TRY(pass_held(sink, error));
    if (self->begun)
        SHOT_TRY(finish_rows(self, error));
    return shot_stage_end(sink, cut, error);
}

static void release(shot_sink *sink) {
    resampler *self = (resampler *)sink;
    clear_channels(self);
    resample_column_clear(&self->clock);
    noise_times_free(&self->times);
    noise_scratch_free(&self->scratch);
    cubic_places_free(&self->places);
    shot_rows_free(&self->held);
    shot_head_free(&self->head);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, shot_stage_mark, line, end, shot_stage_pause, shot_stage_close, release};

static double step_of(const struct resample_settings *settings) {
    if (!isnan(settings->step))
        return settings->step;
    return 1 / (isnan(settings->rate) ? 20 : settings->rate);
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    shot_stage *stage = NULL;
    *out = NULL;
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(resampler), &stage, error));
    ((resampler *)stage)->grid = resample_grid_of(step_of(making->settings));
    *out = &stage->sink;
    return SHOT_OK;
}

static void latency(const void *made, char *out, size_t room) {
    const struct resample_settings *settings = made;
    const double step = step_of(settings);
    if (settings->errors) {
        standard_errors_latency(out, room);
        return;
    }
    switch (settings->method) {
    case RESAMPLE_LINEAR:
        shot_format(
            out, room,
            "1 sample of the slowest channel, at the start 8; where the rate falls, %g s more",
            10 * step);
        break;
    case RESAMPLE_CUBIC:
        shot_format(
            out, room,
            "2 samples of the slowest channel, at the start 8; where the rate falls, %g s more",
            10 * step);
        break;
    default:
        shot_format(out, room, "84 steps (%g s), or 84 samples where the rate rises", 84 * step);
    }
}

static const char *const examples[] = {
    "shot-resample --rate 20 < shot.csv",
    "shot-resample --step 100ms --method sinc --max-gap 1s < shot.csv",
    "shot-resample --rate 10 --errors < shot.csv",
    NULL,
};

const shot_description shot_resample = {
    .name = "resample",
    .purpose = "bring a shot onto a uniform grid",
    .details =
        "The rows of the new grid lie at whole multiples of the step. Each channel is resampled "
        "from its own samples and at its own rate, whatever rows its neighbours have: no value "
        "before its first sample or after its last, and none in a gap.\n"
        "Where the rate of a channel falls, what would fold into the new band is filtered out: by "
        "60 dB with the lower half of the band kept (linear, cubic), or by 120 dB with 0.9 of the "
        "band kept (sinc). With linear and sinc the filter may overshoot a sudden edge by some "
        "percent; "
        "with cubic it is held to the range that the samples have within a step, and what only "
        "rises or only falls for three steps still does.\n"
        "The first 8 intervals of a channel wait for each other, to learn what is usual. Marks and "
        "metadata stay at their times. Each channel has a window of its own, which takes up to "
        "half a MiB, and with sinc and --errors three quarters.\n"
        "Standard errors (--errors) come from the noise of the samples, a '# noise:' line or else "
        "an estimate for which the shot is held to its end, and from the weight that each has in "
        "the new value; what no sample saw is not in them.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .settings_size = sizeof(struct resample_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
