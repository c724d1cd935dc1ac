/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where alone an option counts (shot_option.only): beside which others. */
#ifndef SHOT_CHAIN_OPTION_ONLY_H
#define SHOT_CHAIN_OPTION_ONLY_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

/* One of the alternatives: the option of that name is given; with a word, it has it. */
typedef struct option_condition {
    const char *name, *word; /* not ended by a zero; a NULL word asks for none */
    size_t name_length, word_length;
    bool absent; /* ... is not given */
} option_condition;

/* The first group of alternatives of which none holds; NULL where all have one. */
const char *option_only_missing(const char *only,
                                bool (*holds)(const void *user, const option_condition *one),
                                const void *user);

/* Append a group of alternatives in words: "only with --method savgol or lowpass", "not
 * with --keep".  *rest is the next group, NULL behind the last. */
shot_status option_only_write(const char *group, shot_text *text, const char **rest);

#endif
