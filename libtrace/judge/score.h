/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Found marks against annotated ones: how many are right, how many were missed, how far off. */
#ifndef SHOT_JUDGE_SCORE_H
#define SHOT_JUDGE_SCORE_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

enum { SCORE_CSV, SCORE_JSON, SCORE_PAGE };

typedef struct score_settings {
    const char *reference; /* a table of marks, or a trace stream with marks */
    shot_texts kinds;      /* none: those of the reference */
    double within;         /* s */
} score_settings;

/* What is known of one kind. */
typedef struct score_kind {
    char *name;
    size_t found, annotated, matched;
    size_t with_interval, covering; /* of the matched: those with an interval; ... that holds the
                                       annotated time */
    double *errors;                 /* [matched] found less annotated, s */
    size_t room;
} score_kind;

/* A writer that scores the marks of each shot that the reference knows.  `settings` is borrowed. */
shot_status score_new(const shot_making *making, const score_settings *settings, int format,
                      shot_sink **out, shot_error *error);

/* The result as text.  The errors of the kinds are sorted. */
shot_status score_write(shot_text *text, score_kind *kinds, size_t count, int format);

#endif
