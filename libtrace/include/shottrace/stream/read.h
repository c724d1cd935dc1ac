/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Foreign logs become traces. */
#ifndef SHOTTRACE_STREAM_READ_H
#define SHOTTRACE_STREAM_READ_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-read: a source that works out how a table of a log is written (separators, decimal mark,
 * header, units, clock, encoding, compression), and drives a sink with its shots.  All options in
 * its table; what it guesses and why it tells with `explain`. */
SHOT_API extern const shot_description shot_read;

#ifdef __cplusplus
}
#endif
#endif
