/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The head of a shot: its name, what is known about it, and its channels.
 *
 * Metadata are lines `# key: value` in the order in which they stood; a key may come more than
 * once (history, noise, note), and the last one counts where one is asked for.  A line without a
 * key is a comment that passes through.
 */
#ifndef SHOTTRACE_TRACE_SHOT_H
#define SHOTTRACE_TRACE_SHOT_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>
#include <shottrace/trace/channel.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* `key` is NULL for a comment, whose text (all that follows '#') is then `value`. */
typedef struct shot_line {
    char *key;
    char *value;
} shot_line;

typedef struct shot_head {
    char *name;
    shot_line *lines;
    size_t line_count;
    shot_channel *channels; /* channels[0] is time [s] */
    size_t channel_count;
} shot_head;

/* A zeroed shot_head is empty.  Copies are deep; `out` must be zeroed or freed before. */
SHOT_API shot_status shot_head_copy(const shot_head *head, shot_head *out);
SHOT_API void shot_head_free(shot_head *head);

/* The same over an earlier copy, or a zeroed one, whose memory is used again where it can be; after
 * an error `out` is empty. */
SHOT_API shot_status shot_head_copy_again(const shot_head *head, shot_head *out);

/* The same names and units in the same order. */
SHOT_API bool shot_head_same_channels(const shot_head *a, const shot_head *b);

/* A head that borrows all that `head` has; channels can be added to it.  It must be given back
 * while `head` is as it was. */
SHOT_API shot_status shot_head_borrow(const shot_head *head, shot_head *out);
SHOT_API void shot_head_give_back(const shot_head *head, shot_head *borrowed);

/* Give it a name, in the place of the one it had.  Names and values are one line: a line break in
 * them becomes a blank. */
SHOT_API shot_status shot_head_set_name(shot_head *head, const char *name);
/* Append a line `# key: value`; a key of NULL: a line that is no metadata. */
SHOT_API shot_status shot_head_add_line(shot_head *head, const char *key, const char *value);
/* Give a key a value: in the place of its last one, or as a line of its own. */
SHOT_API shot_status shot_head_set_value(shot_head *head, const char *key, const char *value);
/* Append a channel; the first one is time [s]. */
SHOT_API shot_status shot_head_add_channel(shot_head *head, const char *name, const char *unit);

/* The index of a channel, or -1. */
SHOT_API ptrdiff_t shot_head_channel(const shot_head *head, const char *name);

/* Append what a person should hear who named a channel that is not there: "shot 'quay-017' has no
 * channel 'flow'; it has pressure, weight", names as an option takes them.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_head_write_missing(const shot_head *head, const char *channel,
                                             shot_text *text);

/* The last value of a key, or NULL. */
SHOT_API const char *shot_head_value(const shot_head *head, const char *key);

/* The last value of a key as a number in `unit` (`# dose: 18.2 g`; a number alone is taken to be in
 * `unit` already).  *out is NaN when the key is absent, or is no such quantity: whoever reads a log
 * has said so (shot_head_key_judge), and a slip of the pen costs that value, not the shot.  Fails
 * with SHOT_ERR_MEMORY only. */
SHOT_API shot_status shot_head_quantity(const shot_head *head, const char *key, const char *unit,
                                        double *out);

/* How often the history names that tool (shot-segment); of a history line the first word counts. */
SHOT_API size_t shot_head_went_through(const shot_head *head, const char *tool);

/* The log's own clock at time 0 of the stream, a decimal text in seconds (`# t0:`), or "0". */
SHOT_API const char *shot_head_origin(const shot_head *head);

#ifdef __cplusplus
}
#endif
#endif
