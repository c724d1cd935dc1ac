/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels of a shot as tracks of a recording. */
#include "stream/recording_tracks.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/quantity.h>

#include "recording/recording_track.h"
#include "stream/even_rows.h"
#include "stream/write_units.h"
#include "plain_format.h"

static shot_status out_of_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a recording");
}

/* --------------------------------------------------------------------------- which tracks ----- */

static shot_status add_track(const shot_table *shot, ptrdiff_t column,
                             const struct shot_write_settings *settings, const shot_scales *scales,
                             int bits, shot_recorded *out, shot_error *error) {
    const shot_channel *channel = &shot->head.channels[column];
    const shot_scale *scale = shot_scales_of(scales, channel->name, strlen(channel->name));
    const char *unit = shot_write_unit(&settings->unit, channel->name, channel->unit);
    if (scale != NULL && *scale->unit != '\0')
        unit = scale->unit;
    if (scale == NULL && bits > 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "samples of %d bits are parts of full scale; say what that is, as in "
                         "--scale '%.60s=0FS:0%.20s,1FS:10%.20s'",
                         bits, channel->name, unit, unit);
    out->tracks[out->count++] = (shot_recorded_track){channel, unit, scale, NULL};
    return SHOT_OK;
}

/* Those that were said, in that order, or all but time. */
static shot_status choose_tracks(const shot_table *shot, const struct shot_write_settings *settings,
                                 const shot_scales *scales, int bits, shot_recorded *out,
                                 shot_error *error) {
    const shot_texts *said = &settings->channel;
    const size_t most = said->count > 0 ? said->count : shot->head.channel_count - 1;
    out->tracks = calloc(most + 1, sizeof *out->tracks);
    if (out->tracks == NULL)
        return out_of_memory(error);
    for (size_t i = 0; i < most; i++) {
        ptrdiff_t column =
            said->count > 0 ? shot_head_channel(&shot->head, said->items[i]) : (ptrdiff_t)i + 1;
        if (column < 0)
            return shot_fail(error, SHOT_ERR_DATA,
                             "--channel: the shot '%.80s' has no channel '%.60s'", shot->head.name,
                             said->items[i]);
        if (column > 0)
            SHOT_TRY(add_track(shot, column, settings, scales, bits, out, error));
    }
    return out->count > 0
               ? SHOT_OK
               : shot_fail(error, SHOT_ERR_DATA,
                           "the shot '%.80s' has no channel to record but time", shot->head.name);
}

/* ------------------------------------------------------------------------------- the rate ----- */

static shot_status uneven(const shot_table *shot, const shot_even_rows *rows, double said,
                          shot_error *error) {
    double rate = isnan(said) ? fmax(1, rint(rows->rate)) : said;
    if (isnan(rows->rate))
        return shot_fail(error, SHOT_ERR_DATA,
                         "the times of '%.80s' do not rise; shot-clean mends them",
                         shot->head.name);
    return shot_fail(error, SHOT_ERR_DATA,
                     "the rows of '%.80s' are not even, and a recording has no times: %g s is off "
                     "its place by %.2g of a step; put shot-resample --rate %g in front",
                     shot->head.name, shot->rows.column[0][rows->worst], rows->off_step, rate);
}

/* The rate of the frames, and how many rows go to one of them. */
static shot_status settle_rate(const shot_table *shot, double said, shot_recorded *out,
                               double *ratio, shot_error *error) {
    const shot_even_rows rows = shot_even_rows_of(shot->rows.column[0], shot->rows.rows);
    out->start = shot->rows.rows > 0 ? shot->rows.column[0][0] : 0;
    if (isnan(said) && shot->rows.rows < 2)
        return shot_fail(error, SHOT_ERR_DATA,
                         "the rows of '%.80s' tell no rate; say --rate, as --rate 100",
                         shot->head.name);
    if (shot->rows.rows > 1 && !rows.even)
        return uneven(shot, &rows, said, error);
    double rate = isnan(said) ? rows.rate : said;
    if (rate != rint(rate) || rate > INT_MAX)
        return shot_fail(error, SHOT_ERR_DATA,
                         "'%.80s' has %.10g rows a second, and a recording a whole number; say "
                         "--rate %g",
                         shot->head.name, rate, ceil(rate));
    out->rate = (int)rate;
    *ratio = shot->rows.rows > 1 ? rows.rate / rate : 1;
    out->resampled = *ratio != 1;
    return SHOT_OK;
}

/* ---------------------------------------------------------------------------- the samples ----- */

/* Values in the unit of the track. */
static shot_status take_values(const shot_table *shot, shot_recorded_track *track,
                               shot_error *error) {
    const size_t count = shot->rows.rows;
    const double *column = shot->rows.column[track->channel - shot->head.channels];
    track->samples = malloc((count + 1) * sizeof *track->samples);
    if (track->samples == NULL)
        return out_of_memory(error);
    memcpy(track->samples, column, count * sizeof *column);
    if (strcmp(track->unit, track->channel->unit) == 0)
        return SHOT_OK;
    shot_conversion conversion;
    SHOT_TRY(shot_write_conversion(track->channel, track->unit, &conversion, error));
    for (size_t i = 0; i < count; i++)
        track->samples[i] = shot_conversion_apply(&conversion, track->samples[i]);
    return SHOT_OK;
}

static shot_status check_missing(const shot_table *shot, const shot_recorded_track *track,
                                 bool allowed, int bits, shot_error *error) {
    size_t missing = 0, first = 0;
    for (size_t i = shot->rows.rows; i-- > 0;)
        if (!isfinite(track->samples[i])) {
            missing++;
            first = i;
        }
    if (missing == 0 || (allowed && bits == 0))
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA,
                     "%.60s of '%.80s' lacks %zu sample%s, the first at %g s; fill them with "
                     "shot-resample%s",
                     track->channel->name, shot->head.name, missing, shot_plural(missing),
                     shot->rows.column[0][first],
                     bits > 0 ? ", or take samples that can be NaN: f64 or f32"
                              : ", or write them as NaN with --missing nan");
}

/* The same band at another rate; what would fold is filtered out. */
static shot_status resample(const shot_table *shot, shot_recorded_track *track, double ratio,
                            size_t *frames) {
    shot_track kernel;
    shot_status status = shot_track_init(&kernel, ratio);
    if (status == SHOT_OK)
        status = shot_track_push(&kernel, track->samples, shot->rows.rows, 1);
    if (status == SHOT_OK)
        status = shot_track_finish(&kernel);
    if (status == SHOT_OK) {
        free(track->samples);
        track->samples = kernel.out;
        *frames = kernel.count;
        kernel.out = NULL;
    }
    shot_track_free(&kernel);
    return status;
}

/* Samples within full scale.  A floating-point one may go beyond. */
static shot_status apply_scale(const shot_recorded *recorded, shot_recorded_track *track, int bits,
                               shot_error *error) {
    const shot_scale *scale = track->scale;
    for (size_t i = 0; i < recorded->frames && scale != NULL; i++) {
        double value = track->samples[i], sample = (value - scale->offset) / scale->slope;
        if (bits > 0 && !(fabs(sample) <= 1))
            return shot_fail(
                error, SHOT_ERR_DATA,
                "%.60s is %g %.20s at %g s, beyond full scale, which is %g to %g; give "
                "a wider --scale",
                track->channel->name, value, track->unit,
                recorded->start + (double)i / recorded->rate, scale->offset - fabs(scale->slope),
                scale->offset + fabs(scale->slope));
        track->samples[i] = sample;
    }
    return SHOT_OK;
}

static shot_status make_track(const shot_table *shot, const struct shot_write_settings *settings,
                              int bits, double ratio, shot_recorded *out,
                              shot_recorded_track *track, shot_error *error) {
    SHOT_TRY(take_values(shot, track, error));
    SHOT_TRY(check_missing(shot, track, settings->missing == 1, bits, error));
    out->frames = shot->rows.rows;
    if (out->resampled && resample(shot, track, ratio, &out->frames) != SHOT_OK)
        return out_of_memory(error);
    return apply_scale(out, track, bits, error);
}

shot_status shot_recorded_make(const shot_table *shot, const struct shot_write_settings *settings,
                               const shot_scales *scales, int bits, shot_recorded *out,
                               shot_error *error) {
    double ratio = 1;
    *out = (shot_recorded){0};
    SHOT_TRY(choose_tracks(shot, settings, scales, bits, out, error));
    SHOT_TRY(settle_rate(shot, settings->rate, out, &ratio, error));
    for (size_t c = 0; c < out->count; c++)
        SHOT_TRY(make_track(shot, settings, bits, ratio, out, &out->tracks[c], error));
    return SHOT_OK;
}

void shot_recorded_free(shot_recorded *recorded) {
    for (size_t c = 0; c < recorded->count; c++)
        free(recorded->tracks[c].samples);
    free(recorded->tracks);
    *recorded = (shot_recorded){0};
}
