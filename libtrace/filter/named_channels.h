/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names: one that is nowhere is an error, or nobody would notice the slip.
 */
#ifndef SHOT_FILTER_NAMED_CHANNELS_H
#define SHOT_FILTER_NAMED_CHANNELS_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/stage.h>

/* The column of a channel.  SHOT_ERR_USAGE for the time; SHOT_ERR_DATA, naming the channels that
 * the shot has, where there is none of that name. */
shot_status named_channel_find(const shot_head *head, const char *name, size_t *column,
                               shot_error *error);

/* The same for a list, for its errors alone. */
shot_status named_channels_check(const shot_head *head, const shot_texts *names, shot_error *error);

/* Is it in the list? */
bool named_channels_hold(const shot_texts *names, const char *name);

/* Which of the channels named with an option came, shot by shot.  A shot that lacks one goes on
 * with a note, and at the end of the stream the person is told how many there were; one that no
 * shot had is an error.  Zeroed before the first call. */
typedef struct channel_tally {
    size_t shots;
    size_t *met;     /* owned: shots that have it, a name */
    shot_text first; /* channels of the first shot */
} channel_tally;

/* A shot begins.  SHOT_ERR_USAGE for the time. */
shot_status channel_tally_add(channel_tally *tally, const shot_texts *names, const shot_head *head,
                              shot_error *error);

/* A shot ends: a note to `next` for each name that it lacks. */
shot_status channel_tally_note(const char *filter, const char *option, const shot_texts *names,
                               const shot_head *head, shot_sink *next, shot_error *error);

/* The stream ends.  SHOT_ERR_DATA for a name that no shot had. */
shot_status channel_tally_close(const channel_tally *tally, const char *option,
                                const shot_texts *names, const shot_notice *notice,
                                shot_error *error);

void channel_tally_free(channel_tally *tally);

#endif
