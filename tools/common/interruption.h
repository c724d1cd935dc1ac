/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tool that is asked to end: by Ctrl-C, by a terminal that goes away, by `kill`.
 *
 * Most of them end at once, as any filter does.  One that keeps a record of its work asks to be
 * told instead: then the first request ends the reading, what was read is finished, and the process
 * ends as it would have ended without.  A second request of the kind ends it at once. */
#ifndef SHOT_TOOL_INTERRUPTION_H
#define SHOT_TOOL_INTERRUPTION_H

#include <stdbool.h>

/* From now on be told.  A request that whoever started the tool had it ignore stays ignored. */
void shot_tool_heed_interruption(void);

/* True from the first request on. */
bool shot_tool_interrupted(void);

/* Wait until there is something to read in the file, or a request came; return at once where none
 * is heeded. */
void shot_tool_wait_for(int file);

/* End the process as the request would have ended it; return where none came. */
void shot_tool_end_interrupted(void);

#endif
