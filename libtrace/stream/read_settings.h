/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of the reader of foreign logs, and the options that make them. */
#ifndef SHOT_STREAM_READ_SETTINGS_H
#define SHOT_STREAM_READ_SETTINGS_H

#include <shottrace/trace/option.h>

/* Rows a second of a recording where nobody says it: enough for the 50 or 60 Hz of a vibrating pump
 * to fall outside the band that is kept, ten times what machines log (common practice, no source).
 */
#define SHOT_TRACE_RATE 100.0

struct shot_read_settings {
    /* How the text is written; NULL or 0: worked out from the first lines. */
    const char *encoding, *delimiter, *comment;
    int decimal; /* 1 point, 2 comma */
    int header;  /* 1 yes, 2 no */
    long skip;   /* lines before the table; -1: worked out */
    shot_texts names;
    /* What the columns mean. */
    shot_texts map, unit, missing;
    bool literal; /* titles are those of a stream's header */
    const char *by;
    const char *name_column, *value_column, *unit_column; /* the long form */
    /* The clock. */
    const char *clock;
    double rate, wrap; /* NaN if not said */
    /* Recordings. */
    shot_texts scale;
    double full_scale, trace_rate; /* V and Hz, NaN if not said */
    const char *raw;
    /* What happens to what cannot be read, and to what was guessed. */
    const char *rejects;
    bool strict, explain;
    long longest_line; /* MiB */
    double ratio;      /* most bytes that one compressed byte may become */
};

extern const shot_option shot_read_options[];

#endif
