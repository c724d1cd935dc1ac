/* SPDX-License-Identifier: GPL-3.0-or-later */
/* May the errors of a channel's samples be taken for independent ones? */
#include "filter/error_basis.h"

#include <string.h>

static bool starts(const char *text, const char *word) {
    return strncmp(text, word, strlen(word)) == 0;
}

/* Is the channel in the list behind `option`?  True without such a list: then all are meant. */
static bool is_meant(const char *history, const char *option, const char *channel) {
    const char *list = strstr(history, option);
    const size_t length = strlen(channel);
    if (list == NULL)
        return true;
    for (list += strlen(option); *list != '\0' && *list != ' '; list += *list == ',') {
        const size_t part = strcspn(list, ", ");
        if (part == length && memcmp(list, channel, length) == 0)
            return true;
        list += part;
    }
    return false;
}

/* A filter that smooths or interpolates a channel leaves samples whose errors depend on each other.
 */
static bool changes(const char *history, const char *channel) {
    if (starts(history, "shot-smooth") || starts(history, "shot-average"))
        return is_meant(history, "--channel ", channel);
    if (starts(history, "shot-align"))
        return (strstr(history, "--apply") != NULL || strstr(history, "--delay ") != NULL) &&
               is_meant(history, "--channel ", channel);
    return starts(history, "shot-resample");
}

/* Quantities of shot-derive that bear no dot; a log may have the first two itself. */
static bool may_derive(const char *history, const char *channel) {
    return starts(history, "shot-derive") && is_meant(history, "--quantity ", channel) &&
           (strcmp(channel, "outflow") == 0 || strcmp(channel, "water") == 0 ||
            starts(channel, "hydraulic-") || starts(channel, "apparent-"));
}

static bool is_wanted(const char *channel) {
    return starts(channel, "wanted.");
}

static bool is_made(const char *channel) {
    return strrchr(channel, '.') != NULL && !is_wanted(channel);
}

static bool is_history(const shot_line *line) {
    return line->key != NULL && strcmp(line->key, "history") == 0;
}

const char *error_basis_fault(const shot_head *head, const char *channel) {
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (is_history(line) && (changes(line->value, channel) || may_derive(line->value, channel)))
            return line->value;
    }
    return is_made(channel) ? "the filter that made it" : NULL;
}

/* What was derived or joined behind it was not there yet. */
bool error_basis_is_interpolated(const shot_head *head, const char *channel) {
    bool is = false;
    for (size_t i = 0; i < head->line_count; i++) {
        const char *value = head->lines[i].value;
        if (!is_history(&head->lines[i]))
            continue;
        is = is || starts(value, "shot-resample");
        if (may_derive(value, channel) || starts(value, "shot-join"))
            is = false;
    }
    return is && !is_made(channel) && !is_wanted(channel);
}
