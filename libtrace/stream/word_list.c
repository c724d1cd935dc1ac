/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words of titles and units. */
#include "stream/word_list.h"

#include "ascii.h"

char word_lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
}

bool word_is_letter(char c) {
    return ascii_is_letter(c) || (unsigned char)c >= 0x80;
}

bool word_is_listed(const char *word, const char *list, int *rank) {
    for (*rank = 0; *list != '\0'; ++*rank) {
        const char *at = word;
        while (*at != '\0' && *at == *list && *list != '|') {
            at++;
            list++;
        }
        if (*at == '\0' && (*list == '|' || *list == '\0'))
            return true;
        while (*list != '\0' && *list++ != '|') {
        }
    }
    return false;
}

bool word_is_among(const char *text, size_t length, const char *list) {
    char low[16] = "";
    int rank;
    for (size_t i = 0; i < length && length < sizeof low; i++)
        low[i] = word_lower(text[i]);
    return word_is_listed(low, list, &rank);
}
