/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole shots in memory, and a sink that keeps all that come.
 *
 *     shot_table_collector collector;
 *     shot_table_collector_init(&collector);
 *     ... a reader, a loader or a filter drives &collector.sink ...
 *     ... collector.shots.items[0 .. collector.shots.count - 1] ...
 *     shot_table_collector_free(&collector);
 */
#ifndef SHOTTRACE_TRACE_TABLE_LIST_H
#define SHOTTRACE_TRACE_TABLE_LIST_H

#include <shottrace/trace/table.h>

#ifdef __cplusplus
extern "C" {
#endif

/* In the order in which they came. */
typedef struct shot_table_list {
    shot_table **items;
    size_t count;
} shot_table_list;

/* `done` (may be NULL) is called with `user` at the close of the stream.  A shot that was cut has
 * its `cut` set.  Without memory a call returns SHOT_ERR_MEMORY and says so. */
typedef struct shot_table_collector {
    shot_sink sink;
    shot_table_list shots;
    shot_status (*done)(void *user, shot_error *error);
    void *user;
} shot_table_collector;

/* Make it an empty one, ready to be driven. */
SHOT_API void shot_table_collector_init(shot_table_collector *collector);
/* Frees the shots; the collector itself is the caller's. */
SHOT_API void shot_table_collector_free(shot_table_collector *collector);

#ifdef __cplusplus
}
#endif
#endif
