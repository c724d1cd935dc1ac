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

/* Before anything is opened: what is opened does not take the place of a standard stream that was
 * closed. */
void shot_tool_hold_places(void);

/* All bytes to standard output; fits shot_output. */
shot_status shot_tool_write(void *user, const char *bytes, size_t count, shot_error *error);

/* Not finished until standard output has closed well: some file systems report a full disk only
 * then. */
shot_status shot_tool_close_output(shot_error *error);

/* A file ("-" is standard input) in steps: open it, push what is in it, pausing the chain whenever
 * the input waits, close it.  The chain is told by shot_chain_file that it begins. */
shot_status shot_tool_open(const char *name, int *file, shot_error *error);
shot_status shot_tool_push(shot_chain *chain, int file, const char *name, shot_error *error);
void shot_tool_close(int file);

/* Hears of the files of the command line: one is opened, its bytes, it was read to its end (NULL)
 * or failed, one is left unread. */
typedef struct shot_tool_listener {
    void (*opens)(const char *name);
    void (*takes)(const char *bytes, size_t count);
    void (*shuts)(const shot_error *failure);
    void (*leaves)(const char *name);
} shot_tool_listener;

/* From now on `one` (borrowed) hears; a process is one tool.  `shot_tool_listening` is who does: by
 * default nobody, whose calls do nothing. */
void shot_tool_listen(const shot_tool_listener *one);
const shot_tool_listener *shot_tool_listening(void);

#endif
