/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the filters with --errors share: the noise that a head tells, the column NAME.se, and words
 * for what cannot be known. */
#ifndef SHOT_FILTER_STANDARD_ERRORS_H
#define SHOT_FILTER_STANDARD_ERRORS_H

#include <shottrace/signal/noise.h>
#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/sink.h>

/* The noise of sums of samples, where no line of the head tells it: by what was found in them.
 * Where the correlation may be longer than found, that of independent samples as noisy as the most
 * by which correlation can inflate any variance makes them. */
shot_noise_line standard_errors_found(const shot_noise *found);

/* The column of a channel's standard errors, NAME.se; -1 if there is none. */
ptrdiff_t standard_errors_channel(const shot_head *head, const char *channel);

/* Append to `to` a channel made from channel `column` of `from`: its name with suffix (may be NULL)
 * and tail behind it, its unit times s to the power `seconds`.  SHOT_ERR_DATA where the name is
 * taken; SHOT_ERR_MEMORY without words. */
shot_status standard_errors_add_channel(const shot_head *from, size_t column, const char *suffix,
                                        const char *tail, int seconds, shot_head *to,
                                        shot_error *error);

/* A note that a channel has no errors, since nothing tells its noise. */
shot_status standard_errors_say_unknown(shot_sink *next, const char *filter, const char *channel,
                                        shot_error *error);

/* A note that there are none, for what error_basis_fault found; of one channel, or of all (NULL).
 */
shot_status standard_errors_say_fault(shot_sink *next, const char *filter, const char *channel,
                                      const char *fault, shot_error *error);

/* How long a shot is held for its errors, in words for --latency. */
void standard_errors_latency(char *out, size_t room);

#endif
