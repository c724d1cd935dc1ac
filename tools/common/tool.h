/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the main of every tool calls. */
#ifndef SHOT_TOOL_H
#define SHOT_TOOL_H

#include <shottrace/chain/settings.h>
#include <shottrace/trace/description.h>

/* Run the filter on the command line's files or standard input; returns the exit status. */
int shot_tool_main(const shot_description *description, int argc, char **argv);

#endif
