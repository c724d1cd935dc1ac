/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The '#' lines of a trace stream.  Internal to stream/. */
#ifndef SHOT_STREAM_READER_HASH_H
#define SHOT_STREAM_READER_HASH_H

#include "stream/reader_shot.h"

/* Read the line [line, end), which starts with '#', and do what it says. */
shot_status shot_reader_hash_line(shot_reader *self, const char *line, const char *end,
                                  shot_error *error);

/* True for the key of lines that tell which filters a stream passed. */
bool shot_reader_is_history(const char *key);

#endif
