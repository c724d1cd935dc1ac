/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of shot-split share: what was asked for, and where it stands in a log. */
#ifndef SHOT_FILTER_SPLIT_PARTS_H
#define SHOT_FILTER_SPLIT_PARTS_H

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/option.h>
#include <shottrace/trace/stage.h>

#include "filter/split_watch.h"

enum { SPLIT_BY_ORDER, SPLIT_BY_TIME };

struct split_settings {
    double gap, lead, tail; /* s */
    int name;
    shot_texts also;
    bool explain;
};

typedef enum split_state {
    SPLIT_REST,  /* nothing runs */
    SPLIT_MAYBE, /* water ran, and what it was is not known yet: rows are held */
    SPLIT_SHOT,  /* a shot: rows pass */
    SPLIT_AFTER, /* a shot that may go on after its soak: rows are held */
    SPLIT_TEST   /* water runs again: of the same shot? */
} split_state;

typedef struct splitter {
    shot_stage stage;
    shot_head head; /* of the log, with the lines that came so far */
    shot_decimal clock;
    size_t columns[3]; /* of pressure, flow, weight; 0 where there is none */
    double lead;       /* s */
    split_watch watch;
    split_state state;
    shot_rows held;       /* rows not handed on */
    shot_mark_list marks; /* not handed on */
    double event;         /* when the event began, s */
    double last_off;      /* when the last run ended; NaN */
    double shot_off;      /* when the last run of the shot ended */
    bool met, blind;      /* one of its runs met something that resists, a blind basket */
    bool cleaned;         /* all of its runs were cleaning */
    bool complete;
    bool open; /* the next sink has been told that a shot begins */
    shot_decimal origin;
    shot_rows out;
    size_t number, lost_marks;
} splitter;

/* Hand on the start of a shot, whose time 0 is the first held row at or behind `event`, and the
 * rows from `lead` before it.  `kind` is NULL for a shot, else what it is instead. */
shot_status split_begin_shot(splitter *self, const char *kind, shot_error *error);
/* Hand on the held rows up to `until`, and the marks that are held. */
shot_status split_pass_rows(splitter *self, double until, shot_error *error);
/* End the shot that is open. */
shot_status split_end_shot(splitter *self, bool cut, shot_error *error);
/* Forget held rows before `time`. */
void split_drop_before(splitter *self, double time);

/* With --explain: what went on between two times, in the log's own clock. */
shot_status split_say(const splitter *self, const char *what, double from, double to);

#endif
