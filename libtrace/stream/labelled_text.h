/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines in which each value bears its name, as small controllers print them to a serial line:
 *
 *     t:12.40 P:8.91 bar W:17.3
 *     08:14:55.120 -> ms=12400, P=8.91, W=17.3      (a terminal put its time before the arrow)
 *
 * They become lines of values with commas between, one for one, so that a line keeps its number;
 * a line that does not bear the same names in the same order stays as it is. */
#ifndef SHOT_STREAM_LABELLED_TEXT_H
#define SHOT_STREAM_LABELLED_TEXT_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

enum { SHOT_LABELS_MOST = 32 };

/* Zeroed it is no labelled text; free with shot_labelled_free. */
typedef struct shot_labelled {
    char *titles[SHOT_LABELS_MOST]; /* [count] of the columns, with their units; owned */
    size_t count;
    bool keeps_arrow; /* the terminal's time is a column, since there is no other clock */
    shot_text names;  /* of the line, as they stand there */
    shot_text own;    /* the names of the line that is looked at: work space */
    shot_text rest;   /* the start of a line whose end has not come, */
    bool long_line;   /* and which was longer than such lines are: the rest of it passes */
} shot_labelled;

/* Work out from whole lines whether at least four, and half of them, are such: `out`, which comes
 * zeroed, else has no titles.  Here and below SHOT_OK or SHOT_ERR_MEMORY. */
shot_status shot_labelled_guess(const char *text, size_t length, shot_labelled *out);

/* Further bytes: whole lines are appended to `out`. */
shot_status shot_labelled_push(shot_labelled *labelled, const char *bytes, size_t count,
                               shot_text *out);

/* The last line, if it has no end. */
shot_status shot_labelled_finish(shot_labelled *labelled, shot_text *out);

void shot_labelled_free(shot_labelled *labelled);

#endif
