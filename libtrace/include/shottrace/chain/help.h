/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The help of a filter, made from its description. */
#ifndef SHOTTRACE_CHAIN_HELP_H
#define SHOTTRACE_CHAIN_HELP_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Append the text that `shot-NAME --help` prints, at most 80 columns wide.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_help_write(const shot_description *description, shot_text *text);

#ifdef __cplusplus
}
#endif
#endif
