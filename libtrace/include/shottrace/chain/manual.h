/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The manual page of a filter, made from its description. */
#ifndef SHOTTRACE_CHAIN_MANUAL_H
#define SHOTTRACE_CHAIN_MANUAL_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Append the page of shot-NAME as input for troff, with the macros that man(7) describes.
 * `version` is that of the tools.  Says what --help says.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_manual_write(const shot_description *description, const char *version,
                                       shot_text *text);

#ifdef __cplusplus
}
#endif
#endif
