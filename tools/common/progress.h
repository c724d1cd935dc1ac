/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far a long work is: one line on standard error, once a second, where a person watches. */
#ifndef SHOT_TOOL_PROGRESS_H
#define SHOT_TOOL_PROGRESS_H

#include <stddef.h>

/* Begin to show it, if standard error is a terminal; without this the other calls do nothing. */
void shot_progress_begin(size_t files);

/* So many more bytes have been read; so many files are done. */
void shot_progress_bytes(size_t count);
void shot_progress_file(size_t done);

/* Take the line away: before anything else is written, and at the end. */
void shot_progress_wipe(void);

#endif
