/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kinds of characters of ASCII, whatever the locale. */
#ifndef SHOT_ASCII_H
#define SHOT_ASCII_H

#include <stdbool.h>

static inline bool ascii_is_digit(char c) {
    return (unsigned)(c - '0') <= 9;
}

static inline bool ascii_is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* What stands between words of a line. */
static inline bool ascii_is_blank(char c) {
    return c == ' ' || c == '\t';
}

#endif
