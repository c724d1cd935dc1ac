/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words that are one letter apart. */
#include "trace/near_word.h"

#include <string.h>

static char small(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Capitals aside. */
static bool are_same(const char *a, const char *b) {
    while (*a != '\0' && small(*a) == small(*b)) {
        a++;
        b++;
    }
    return small(*a) == small(*b);
}

bool near_word(const char *a, const char *b) {
    if (strcmp(a, b) == 0)
        return false;
    while (*a != '\0' && small(*a) == small(*b)) {
        a++;
        b++;
    }
    if (*a == '\0' && *b == '\0')
        return true; /* but for capitals */
    if (*a == '\0' || *b == '\0')
        return *a == '\0' ? b[1] == '\0' : a[1] == '\0';
    return are_same(a + 1, b) || are_same(a, b + 1) || are_same(a + 1, b + 1) ||
           (small(a[0]) == small(b[1]) && small(a[1]) == small(b[0]) && are_same(a + 2, b + 2));
}
