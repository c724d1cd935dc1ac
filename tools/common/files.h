/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files of a command line through a chain: one that cannot be read is named and counted, and
 * the others go on. */
#ifndef SHOT_TOOL_FILES_H
#define SHOT_TOOL_FILES_H

#include <shottrace/chain/chain.h>

/* Read the files, standard input where there are none, nothing if the chain takes no input; finish
 * the chain and say what failed. `tool` is the name in messages.  A failure in `error` is to be
 * told yet, all others were. */
shot_status shot_tool_run_chain(shot_chain *chain, const char *tool, const char *const *names,
                                size_t count, shot_error *error);

#endif
