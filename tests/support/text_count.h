/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Count what a filter wrote. */
#ifndef SHOT_TEST_TEXT_COUNT_H
#define SHOT_TEST_TEXT_COUNT_H

#include <stddef.h>
#include <string.h>

/* How often a piece, which is not empty, stands in a text. */
static inline size_t count_of(const char *text, const char *piece) {
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, piece)) != NULL; at += strlen(piece))
        count++;
    return count;
}

#endif
