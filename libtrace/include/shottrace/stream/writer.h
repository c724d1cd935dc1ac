/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The writer of trace streams: a sink that turns into bytes. */
#ifndef SHOTTRACE_STREAM_WRITER_H
#define SHOTTRACE_STREAM_WRITER_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Bytes are gathered and handed to `output` (borrowed) in large pieces, and at pause and close. */
SHOT_API shot_status shot_writer_new(const shot_output *output, shot_sink **out, shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
