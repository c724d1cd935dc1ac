/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots spread over threads.
 *
 * A crew is a sink: what it is told of a shot goes to one of its workers, each with filters of its
 * own, and what the filters hand on goes to the next sink in the order of the input.  A shot whose
 * filters fail is named, counted and closed as cut; the others go on.
 */
#ifndef SHOT_CHAIN_CREW_H
#define SHOT_CHAIN_CREW_H

#include <shottrace/trace/description.h>

/* Makes a worker's filters: the first of them in *first, the last handing on to `next`.  `made` is
 * an array of `*count` sinks that the crew frees, last made first. */
typedef shot_status (*shot_crew_make)(void *user, shot_sink *next, const shot_notice *notice,
                                      shot_sink **first, shot_sink ***made, size_t *count,
                                      shot_error *error);

/* All of it is borrowed. */
typedef struct shot_crew_plan {
    size_t jobs; /* threads; 1 for none but the caller's */
    shot_crew_make make;
    void *user; /* of `make` */
    shot_sink *next;
    shot_notice notice;
    const char *const *file; /* what it points to when a shot begins is the name of the file that
                              * the shot comes from; may be NULL */
} shot_crew_plan;

/* SHOT_ERR_MEMORY, also where no thread can be started, and what the filters return. */
shot_status shot_crew_new(const shot_crew_plan *plan, shot_sink **out, shot_error *error);

/* Shots whose filters failed so far. */
size_t shot_crew_failures(const shot_sink *crew);

#endif
