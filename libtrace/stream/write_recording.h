/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each shot as a recording: its channels are the tracks. */
#ifndef SHOT_STREAM_WRITE_RECORDING_H
#define SHOT_STREAM_WRITE_RECORDING_H

#include <shottrace/trace/description.h>

/* A sink for shot_write with a format from SHOT_WRITE_WAV on.  It keeps one shot.  The name of the
 * shot becomes the title of the recording, its head and marks the comment, as a trace has them,
 * where the container has a place for words; shot-read finds them there.  *out is freed with
 * shot_sink_free. */
shot_status shot_write_recording_new(const shot_making *making, shot_sink **out, shot_error *error);

#endif
