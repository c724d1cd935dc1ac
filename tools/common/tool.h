/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the main of every tool calls. */
#ifndef SHOT_TOOL_H
#define SHOT_TOOL_H

#include <shottrace/chain/chain.h>
#include <shottrace/chain/settings.h>
#include <shottrace/trace/description.h>

/* The work of a tool once its options are read. */
typedef shot_status (*shot_tool_work)(const shot_description *description, shot_settings *settings,
                                      shot_error *error);

/* Read the options, answer --help and its kin, do the work; returns the exit status. */
int shot_tool_main_of(const shot_description *description, shot_tool_work work, int argc,
                      char **argv);

/* Run the filter on the command line's files or standard input; returns the exit status. */
int shot_tool_main(const shot_description *description, int argc, char **argv);

/* The same for a filter that works on findings; `prepare` is that of shot_chain_ends. */
typedef shot_status (*shot_tool_prepare)(shot_sink *next, const shot_notice *notice,
                                         shot_sink **out, shot_error *error);
int shot_tool_main_preparing(const shot_description *description, shot_tool_prepare prepare,
                             int argc, char **argv);

/* The same for a filter that stands for others; `make` is shot_chain_of_parts. */
typedef shot_status (*shot_tool_make)(shot_settings *settings, const shot_description *description,
                                      const shot_chain_ends *ends, shot_chain **out,
                                      shot_error *error);
int shot_tool_main_making(const shot_description *description, shot_tool_make make, int argc,
                          char **argv);

#endif
