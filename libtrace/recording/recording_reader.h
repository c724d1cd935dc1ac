/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings cut into frames, as their bytes arrive.
 *
 * libsndfile asks for bytes; a chain is given them.  So its calls run in a thread of their own,
 * which never works at the same time as its owner: a push hands the bytes over and waits until the
 * thread wants more.  All calls to the owner come from within its own pushes. */
#ifndef SHOT_RECORDING_READER_H
#define SHOT_RECORDING_READER_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/status.h>

typedef struct shot_recording_about {
    double rate; /* frames a second, > 0 */
    size_t tracks;
    bool fractions;      /* samples are fractions of full scale, -1 .. 1; else values as stored */
    const char *comment; /* what the header says in words, or NULL */
} shot_recording_about;

typedef struct shot_recording_calls {
    /* Once, before all frames. */
    shot_status (*about)(void *user, const shot_recording_about *about, shot_error *error);
    /* frames  [count][tracks], borrowed for the call */
    shot_status (*frames)(void *user, const double *frames, size_t count, shot_error *error);
    void *user;
} shot_recording_calls;

/* Samples without a header.  A zeroed one says that there is a header. */
typedef struct shot_recording_raw {
    const char *form; /* u8 s8, s16le s24le s32le f32le f64le and the same with be; NULL: header */
    double rate;
    size_t tracks;
} shot_recording_raw;

typedef struct shot_recording shot_recording;

/* SHOT_ERR_USAGE for raw samples that cannot be; SHOT_ERR_DATA without libsndfile.  *out is freed
 * with shot_recording_free. */
shot_status shot_recording_new(const shot_recording_raw *raw, const shot_recording_calls *calls,
                               shot_recording **out, shot_error *error);
/* SHOT_ERR_DATA for bytes that are no recording.  Bytes behind the sound are dropped. */
shot_status shot_recording_push(shot_recording *recording, const char *bytes, size_t count,
                                shot_error *error);
/* No further byte comes: the last frames. */
shot_status shot_recording_finish(shot_recording *recording, shot_error *error);
/* After the finish: SHOT_ERR_DATA, in words, if the header promised more frames than came. */
shot_status shot_recording_shortfall(const shot_recording *recording, shot_error *error);
void shot_recording_free(shot_recording *recording);

#endif
