/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a recording to values of a channel, by two points:
 * "pressure=0.5V:0bar,4.5V:16bar". */
#ifndef SHOT_STREAM_RECORDING_SCALE_H
#define SHOT_STREAM_RECORDING_SCALE_H

#include <stddef.h>

#include <shottrace/trace/option.h>

/* The key of a line in the head of a recording that holds --scale of all its tracks. */
#define SHOT_SCALE_KEY "recording.scale"

/* The two options that tell it, the same where a recording is read and where one is written:
 * `settings` is a struct with the fields `scale` (shot_texts) and `full_scale` (double). */
#define SHOT_SCALE_OPTIONS(settings)                                                               \
    {.letter = 's',                                                                                \
     .name = "scale",                                                                              \
     .kind = SHOT_OPTION_LIST,                                                                     \
     .field = offsetof(settings, scale),                                                           \
     .argument = "CHANNEL=V:X,V:X",                                                                \
     .help = "recordings: a channel by two points, as pressure=0.5V:0bar,4.5V:16bar, or "          \
             "0.1FS:0bar of full scale"},                                                          \
    {                                                                                              \
        .name = "full-scale", .kind = SHOT_OPTION_QUANTITY,                                        \
        .field = offsetof(settings, full_scale), .argument = "VOLTAGE", .unit = "V", .low = 1e-9,  \
        .high = 1e9, .help = "... the voltage at which the recorder is at its limit"               \
    }

/* value = offset + slope * sample, with samples as a recording gives them: full scale is 1. */
typedef struct shot_scale {
    const char *channel; /* borrowed from the option, `channel_length` bytes of it */
    size_t channel_length;
    const char *unit; /* of the values, borrowed, ends its text */
    double slope, offset;
} shot_scale;

typedef struct shot_scales {
    shot_scale *items;
    size_t count;
} shot_scales;

/* Read --scale, whose points were cut at their commas.
 *   full_scale  volts of a sample of 1, NaN if not said; only points in volts need it
 * SHOT_ERR_USAGE with a sentence that repeats the word.  Free `out` in any case. */
shot_status shot_scales_read(const shot_texts *words, double full_scale, shot_scales *out,
                             shot_error *error);
/* The scale of a channel, or NULL. */
const shot_scale *shot_scales_of(const shot_scales *scales, const char *channel, size_t length);
void shot_scales_free(shot_scales *scales);

#endif
