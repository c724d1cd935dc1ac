/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The outside of a tool: messages, standard output, files. */
#ifndef SHOT_TOOL_IO_H
#define SHOT_TOOL_IO_H

#include <shottrace/chain/chain.h>

/* Exit statuses. */
enum { SHOT_TOOL_FINE = 0, SHOT_TOOL_FAILED = 1, SHOT_TOOL_WRONG_CALL = 2 };

/* A line `shot-NAME: TEXT` on standard error; `user` is the name. */
void shot_tool_say(void *user, const char *text);

/* The message of a failure on standard error; returns the exit status that goes with it. */
int shot_tool_complain(const char *name, const shot_error *error);

/* All bytes to standard output; fits shot_output. */
shot_status shot_tool_write(void *user, const char *bytes, size_t count, shot_error *error);

/* Not finished until standard output has closed well: some file systems report a full disk only
 * then. */
shot_status shot_tool_close_output(shot_error *error);

/* Push a file ("-" is standard input) through the chain, pausing it whenever the input waits. */
shot_status shot_tool_read_file(shot_chain *chain, const char *name, shot_error *error);

#endif
