/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names: one that is not there is an error, or nobody would notice the
 * slip. */
#ifndef SHOT_FILTER_NAMED_CHANNELS_H
#define SHOT_FILTER_NAMED_CHANNELS_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/shot.h>

/* The column of a channel.  SHOT_ERR_USAGE for the time; SHOT_ERR_DATA, naming the channels that
 * the shot has, where there is none of that name. */
shot_status named_channel_find(const shot_head *head, const char *name, size_t *column,
                               shot_error *error);

/* The same for a list, for its errors alone. */
shot_status named_channels_check(const shot_head *head, const shot_texts *names, shot_error *error);

/* Is it in the list? */
bool named_channels_hold(const shot_texts *names, const char *name);

#endif
