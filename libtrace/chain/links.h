/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small sinks that a chain puts between its stages. */
#ifndef SHOT_CHAIN_LINKS_H
#define SHOT_CHAIN_LINKS_H

#include <shottrace/trace/sink.h>

/* Rounds all values but the time to `digits` significant digits, as writing and reading them with
 * --digits would. */
shot_status shot_digits_new(int digits, shot_sink *next, shot_sink **out, shot_error *error);

/* Refuses times that repeat or fall, as the reader does between processes. */
shot_status shot_order_new(shot_sink *next, shot_sink **out, shot_error *error);

#endif
