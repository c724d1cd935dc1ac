/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many marks a chain makes of a log. */
#ifndef SHOT_TEST_MARKS_OF_LOG_H
#define SHOT_TEST_MARKS_OF_LOG_H

#include <support/feed.h>

#include <support/mark_text.h>

/* Marks of that kind at the end of the shot; the log is freed. */
static inline int final_count_of(const char *chain, shot_text *log, const char *kind) {
    feed got = feed_log(chain, log);
    const int count = final_count(got.out.bytes, kind);
    feed_free(&got);
    return count;
}

#endif
