/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names.  A shot that lacks one goes on without it, and the stream with it,
 * since archives mix logs of different loggers; but it is told on standard error as well as in a
 * `# note:`, or nobody would notice a slip of the pen. */
#ifndef SHOT_FILTER_NAMED_CHANNELS_H
#define SHOT_FILTER_NAMED_CHANNELS_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/stage.h>

/* The column of a channel, 0 where there is none of that name.  SHOT_ERR_USAGE for the time. */
shot_status named_channel_find(const shot_head *head, const char *name, size_t *column,
                               shot_error *error);

/* The same for a list, for its errors alone. */
shot_status named_channels_check(const shot_head *head, const shot_texts *names, shot_error *error);

/* Tell which of the names the shot lacks: a notice that says what it has instead, and a note of
 * `filter` to the sink `to`.  Of a name that comes twice once. */
shot_status named_channels_tell_missing(const shot_notice *notice, const shot_head *head,
                                        const shot_texts *names, const char *filter, shot_sink *to,
                                        shot_error *error);

/* Is it in the list? */
bool named_channels_hold(const shot_texts *names, const char *name);

#endif
