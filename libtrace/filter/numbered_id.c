/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ids of a word and a number. */
#include "filter/numbered_id.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void numbered_id_write(char *out, const char *word, size_t turn, size_t number) {
    if (turn == 0)
        snprintf(out, NUMBERED_ID_ROOM, "%s%zu", word, number);
    else
        snprintf(out, NUMBERED_ID_ROOM, "%s-%zu-%zu", word, turn + 1, number);
}

size_t numbered_id_number(const char *id, const char *word) {
    const size_t length = strlen(word);
    if (id == NULL || strncmp(id, word, length) != 0 || id[length] < '0' || id[length] > '9')
        return 0;
    return (size_t)strtoul(id + length, NULL, 10);
}
