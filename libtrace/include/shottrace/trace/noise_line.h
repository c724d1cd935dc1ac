/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines `# noise: CHANNEL sd=0.031 corr=0.05s`: what a channel's noise was before a filter
 * changed it.  Smoothing makes a trace look more certain than it is; this line remembers.
 *
 * The first filter that changes a channel writes the line; later ones leave it.  It may stand after
 * the rows, since a filter that hands on rows at once knows the noise only at the end.
 */
#ifndef SHOTTRACE_TRACE_NOISE_LINE_H
#define SHOTTRACE_TRACE_NOISE_LINE_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/sink.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_noise_line {
    double sd;          /* standard deviation of a sample, in the unit of the channel */
    double correlation; /* s, in which the correlation of the noise falls to 1/e; 0: white */
} shot_noise_line;

/* The first noise line of a channel in the head; false if there is none (*out is then untouched)
 * or it lacks a readable sd. */
SHOT_API bool shot_noise_line_find(const shot_head *head, const char *channel,
                                   shot_noise_line *out);

/* True if the text behind `# noise:` names a channel and has a readable sd. */
SHOT_API bool shot_noise_line_is_readable(const char *text);

/* True if the samples of a channel are no readings any more but were computed by a filter, as its
 * history tells: all channels behind one that makes rows of its own, else those with such a line.
 */
SHOT_API bool shot_channel_is_computed(const shot_head *head, const char *channel);

/* Hand on such a line, its numbers to 4 digits. */
SHOT_API shot_status shot_noise_line_say(shot_sink *sink, const char *channel,
                                         const shot_noise_line *noise, shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
