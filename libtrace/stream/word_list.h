/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words of titles and units, and the lists of spellings that they are looked up in. */
#ifndef SHOT_STREAM_WORD_LIST_H
#define SHOT_STREAM_WORD_LIST_H

#include <stdbool.h>
#include <stddef.h>

/* Of ASCII, whatever the locale. */
char word_lower(char c);

/* A letter of ASCII, or a part of any other sign. */
bool word_is_letter(char c);

/* True if `word` is one of the alternatives of `list`, which '|' separates; *rank is its place. */
bool word_is_listed(const char *word, const char *list, int *rank);

/* The same of a short text in any case, which need not end with a 0. */
bool word_is_among(const char *text, size_t length, const char *list);

#endif
