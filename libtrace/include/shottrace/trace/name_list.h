/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names that can be looked up: the shots of the rows of a table; and names for a message. */
#ifndef SHOTTRACE_TRACE_NAME_LIST_H
#define SHOTTRACE_TRACE_NAME_LIST_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_named {
    char *name;
    size_t index; /* its place in the order in which names were added */
    bool met;     /* it was asked for */
} shot_named;

/* Zeroed it is empty. */
typedef struct shot_name_list {
    shot_named *names;
    size_t count, room;
} shot_name_list;

/* Add a copy of a name; the same one may come more than once.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_name_list_add(shot_name_list *list, const char *name);

/* Order by name, equal ones as they were added, so that they can be found; n log n. */
SHOT_API void shot_name_list_sort(shot_name_list *list);

/* All entries of that name of a sorted list, `*count` of them in the order in which they were
 * added, which counts them as met; NULL and 0 if there is none. */
SHOT_API const shot_named *shot_name_list_find(shot_name_list *list, const char *name,
                                               size_t *count);

SHOT_API void shot_name_list_free(shot_name_list *list);

/* The first few of any number of names, for a message: 'a', 'b', 'c' and 4 more.  Zeroed it is
 * empty. */
typedef struct shot_name_sample {
    shot_text text;
    size_t count;
} shot_name_sample;

/* Count a name, and take a copy of it if it is one of the first. */
SHOT_API shot_status shot_name_sample_add(shot_name_sample *sample, const char *name);
/* The names of a list that were never asked for, each once. */
SHOT_API shot_status shot_name_sample_add_unmet(shot_name_sample *sample,
                                                const shot_name_list *sorted);
/* The text; borrowed.  NULL when there is no name. */
SHOT_API const char *shot_name_sample_text(shot_name_sample *sample);
SHOT_API void shot_name_sample_free(shot_name_sample *sample);

#ifdef __cplusplus
}
#endif
#endif
