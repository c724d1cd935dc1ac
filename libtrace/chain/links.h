/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small pieces that a chain puts between its stages and before them. */
#ifndef SHOT_CHAIN_LINKS_H
#define SHOT_CHAIN_LINKS_H

#include <shottrace/trace/description.h>

/* Rounds all values but the time to `digits` significant digits, as writing and reading them with
 * --digits would. */
shot_status shot_digits_new(int digits, shot_sink *next, shot_sink **out, shot_error *error);

/* Gathers rows until they are many, or until anything else comes or the input waits: to work on a
 * few rows costs a filter hardly less than to work on many. */
shot_status shot_gather_new(shot_sink *next, shot_sink **out, shot_error *error);

/* Refuses times that repeat or fall, as the reader does between processes. */
shot_status shot_order_new(shot_sink *next, shot_sink **out, shot_error *error);

/* A source that reads nothing and closes the sink at its end, for a stage that opens its own
 * files. */
shot_status shot_silence_new(shot_sink *next, shot_source **out, shot_error *error);

#endif
