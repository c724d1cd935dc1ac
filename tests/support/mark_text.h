/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Read the marks out of the text of a trace, for tests of detectors. */
#ifndef SHOT_TEST_MARK_TEXT_H
#define SHOT_TEST_MARK_TEXT_H

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The line of mark number `which` (from 0) of a kind, or NULL. */
static inline const char *mark_line(const char *trace, const char *kind, int which) {
    char start[64];
    snprintf(start, sizeof start, "# mark: %s ", kind);
    const char *place = strstr(trace, start);
    while (place != NULL && which-- > 0)
        place = strstr(place + 1, start);
    return place;
}

/* How many marks of a kind there are. */
static inline int mark_count(const char *trace, const char *kind) {
    int count = 0;
    while (mark_line(trace, kind, count) != NULL)
        count++;
    return count;
}

/* The same of the marks of the end of the shot: those without a provisional id (pulse-1). */
static inline const char *final_line(const char *trace, const char *kind, int which) {
    char provisional[64];
    snprintf(provisional, sizeof provisional, " id=%s-", kind);
    for (int i = 0;; i++) {
        const char *line = mark_line(trace, kind, i);
        if (line == NULL)
            return NULL;
        if (strncmp(strstr(line, " id="), provisional, strlen(provisional)) != 0 && which-- == 0)
            return line;
    }
}

static inline int final_count(const char *trace, const char *kind) {
    int count = 0;
    while (final_line(trace, kind, count) != NULL)
        count++;
    return count;
}

/* The number behind " key=" in a mark's line; NaN if there is none. */
static inline double mark_number(const char *line, const char *key) {
    char start[64];
    snprintf(start, sizeof start, " %s=", key);
    const char *place = line != NULL ? strstr(line, start) : NULL;
    return place != NULL && place < strchr(line, '\n') ? strtod(place + strlen(start), NULL)
                                                       : (double)NAN;
}

/* `from` and `to` of the last mark of that kind; false if there is none, or only a provisional one
 * that was withdrawn since. */
static inline bool mark_of(const char *trace, const char *kind, double *from, double *to) {
    char provisional[64];
    const char *line = mark_line(trace, kind, mark_count(trace, kind) - 1);
    snprintf(provisional, sizeof provisional, " id=%s-", kind);
    *from = mark_number(line, "from");
    *to = mark_number(line, "to");
    return line != NULL && strncmp(strstr(line, " id="), provisional, strlen(provisional)) != 0;
}

#endif
