/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels of a shot as tracks of a recording: unit, rate, scale. */
#ifndef SHOT_STREAM_RECORDING_TRACKS_H
#define SHOT_STREAM_RECORDING_TRACKS_H

#include <shottrace/trace/table.h>

#include "stream/recording_scale.h"
#include "stream/write_settings.h"

typedef struct shot_recorded_track {
    const shot_channel *channel; /* of the shot; borrowed */
    const char *unit;            /* of the values; borrowed */
    const shot_scale *scale;     /* what samples stand for, or NULL: samples are values */
    double *samples;             /* [frames], owned */
} shot_recorded_track;

typedef struct shot_recorded {
    shot_recorded_track *tracks;
    size_t count, frames;
    int rate;     /* of the frames, Hz */
    double start; /* time of the first one, s */
    bool resampled;
} shot_recorded;

/* Make tracks of the channels of a shot that were asked for, at the rate that was said.  Free `out`
 * in any case.
 *   bits  of whole numbers, 0 for floating-point samples
 * SHOT_ERR_DATA, _UNIT or _USAGE, in words, for what no recording can carry: rows that are not
 * even, samples that are missing (where not allowed) or beyond full scale, a channel without a
 * scale where samples are whole numbers. */
shot_status shot_recorded_make(const shot_table *shot, const struct shot_write_settings *settings,
                               const shot_scales *scales, int bits, shot_recorded *out,
                               shot_error *error);
void shot_recorded_free(shot_recorded *recorded);

#endif
