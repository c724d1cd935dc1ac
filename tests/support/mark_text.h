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

/* The last mark of a kind, which is the one that stands; or NULL. */
static inline const char *last_line(const char *trace, const char *kind) {
    return mark_line(trace, kind, mark_count(trace, kind) - 1);
}

/* Whether the id of a mark is that of a provisional one (pulse-1). */
static inline bool mark_is_provisional(const char *line, const char *kind) {
    char provisional[64];
    snprintf(provisional, sizeof provisional, " id=%s-", kind);
    return strncmp(strstr(line, " id="), provisional, strlen(provisional)) == 0;
}

/* The line of number `which` (from 0) of the marks of the end of the shot, or NULL. */
static inline const char *final_line(const char *trace, const char *kind, int which) {
    const char *line;
    for (int i = 0; (line = mark_line(trace, kind, i)) != NULL; i++)
        if (!mark_is_provisional(line, kind) && which-- == 0)
            break;
    return line;
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
    const char *line = last_line(trace, kind);
    *from = mark_number(line, "from");
    *to = mark_number(line, "to");
    return line != NULL && !mark_is_provisional(line, kind);
}

/* The time of the row before a line. */
static inline double row_before(const char *trace, const char *line) {
    while (line > trace && (line[-1] != '\n' || line[0] == '#'))
        line--;
    return strtod(line, NULL);
}

#endif
