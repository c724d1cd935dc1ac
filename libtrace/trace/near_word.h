/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A slip of the finger: words that are one letter apart. */
#ifndef SHOT_TRACE_NEAR_WORD_H
#define SHOT_TRACE_NEAR_WORD_H

#include <stdbool.h>

/* True where one letter less, more, or another, or two neighbours the other way round, make one
 * word of the other, capitals aside; not of equal words. Source: Damerau 1964, 'A technique for
 * computer detection and correction of spelling errors', Commun. ACM 7:171-176: such are four of
 * five errors. */
bool near_word(const char *a, const char *b);

#endif
