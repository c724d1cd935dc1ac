/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the help and the manual page of a filter both say, in words. */
#ifndef SHOT_CHAIN_HELP_PARTS_H
#define SHOT_CHAIN_HELP_PARTS_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

/* Append what an option does, its choices and its default. */
shot_status help_add_option_words(shot_text *words, const shot_option *option);

/* What stands behind the options: "[FILE...]"; "" for nothing. */
const char *help_operands(const shot_description *description);

/* What it reads ("" for nothing), how much memory it takes, and how it ends. */
const char *help_input(const shot_description *description);
const char *help_memory(const shot_description *description);
const char *help_exit_status(void);

/* Calls `add` with each option, its own ones first, then those that filters share. */
shot_status help_each_option(const shot_description *description, shot_text *text,
                             shot_status (*add)(shot_text *text, const shot_option *option));

#endif
