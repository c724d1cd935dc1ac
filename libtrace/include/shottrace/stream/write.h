/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Traces become what other programs read. */
#ifndef SHOTTRACE_STREAM_WRITE_H
#define SHOTTRACE_STREAM_WRITE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-write: a writer of one tidy table (CSV, TSV), of JSON lines, or of recordings; all options in
 * its table. */
SHOT_API extern const shot_description shot_write;

#ifdef __cplusplus
}
#endif
#endif
