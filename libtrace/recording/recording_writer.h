/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tracks become the bytes of a recording.
 *
 * libsndfile goes back to the header when all samples are there, so a recording is made in memory,
 * whole; then it can go anywhere, into a pipe too. */
#ifndef SHOT_RECORDING_WRITER_H
#define SHOT_RECORDING_WRITER_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

typedef struct shot_recording_plan {
    const char *container; /* wav w64 rf64 flac aiff caf au mat5 mat4 raw */
    const char *samples;   /* f64 f32 s32 s24 s16; NULL: the finest that the container is for */
    int rate;              /* Hz, > 0 */
    size_t tracks, frames;
    const char *title, *comment; /* UTF-8; without a place for words they are left out; a comment
                                  * may be NULL */
} shot_recording_plan;

/* Bytes of title and comment that the container has a place for, and that come back from it. */
size_t shot_recording_words(const char *container);

/* How finely it keeps samples: bits of a whole number whose full scale is 1, or 0 for
 * floating-point numbers. */
int shot_recording_bits(const shot_recording_plan *plan);

/* Encode all samples.
 *   track  [tracks][frames]; within -1 .. 1 and no NaN where samples become whole numbers, of which
 *          1 itself is one step too many and becomes the largest
 *   out    the bytes are appended
 * Floating-point samples keep their bits, NaN too.  The same samples give the same bytes.
 * SHOT_ERR_USAGE, in words, for what the container cannot hold; SHOT_ERR_DATA without
 * libsndfile. */
shot_status shot_recording_encode(const shot_recording_plan *plan, const double *const *track,
                                  shot_text *out, shot_error *error);

#endif
