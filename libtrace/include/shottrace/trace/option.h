/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Options as a table.
 *
 * A filter describes its options once; the tool's command line, its help, the manual pages, the
 * history line and a chain given as a string are all made from the table.  Each option fills one
 * field of the filter's settings, a plain struct.  Defaults are text, read by the same reader as
 * what a person types.
 *
 *     struct smooth_settings { shot_span window; long order; };
 *     static const shot_option options[] = {
 *         {.letter = 'w', .name = "window", .kind = SHOT_OPTION_SPAN, .argument = "LENGTH",
 *          .field = offsetof(struct smooth_settings, window), .initial = "0.7s",
 *          .help = "length of the window, a time (0.7s) or a count of samples (11)"},
 *         {0}};
 */
#ifndef SHOTTRACE_TRACE_OPTION_H
#define SHOTTRACE_TRACE_OPTION_H

#include <stdbool.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_option_kind {
    SHOT_OPTION_FLAG = 1, /* bool; takes no argument */
    SHOT_OPTION_COUNT,    /* long; a whole number in low..high */
    SHOT_OPTION_NUMBER,   /* double; in low..high */
    SHOT_OPTION_QUANTITY, /* double in .unit; a number with a unit of the same kind, or alone.  A
                             time that is not 0 needs its unit: where a count is taken too, as of
                             windows, a number alone is one */
    SHOT_OPTION_SPAN,     /* shot_span; a time (0.7s, 300ms) or a count of samples (11) */
    SHOT_OPTION_CHOICE,   /* int; index into .choices, words separated by '|' */
    SHOT_OPTION_TEXT,     /* const char *; owned by the settings */
    SHOT_OPTION_LIST,     /* shot_texts; may come more than once and be separated by commas; an item
                             with a comma is quoted: "a,b" */
    SHOT_OPTION_EACH,     /* shot_texts; may come more than once, each whole with its commas */
    SHOT_OPTION_FILE,     /* const char *; like TEXT, but left out of the history */
    SHOT_OPTION_FILES,    /* shot_texts; takes all words up to the next option, as operands are
                             (--against *.csv); left out of the history */
    SHOT_OPTION_SETTINGS  /* const char *; a file of `name = value` lines for the other options,
                             for those that were not given; left out of the history itself */
} shot_option_kind;

/* A length in time or in samples. */
typedef struct shot_span {
    double length; /* s, or a whole number of samples */
    bool samples;
} shot_span;

typedef struct shot_texts {
    char **items;
    size_t count;
} shot_texts;

typedef struct shot_option {
    char letter;      /* 0 if there is no short form */
    const char *name; /* NULL ends the table */
    shot_option_kind kind;
    size_t field;         /* offsetof the field in the settings */
    const char *argument; /* what the value is called in the help */
    const char *initial;  /* default as text; NULL: the zeroed field (NaN for numbers) */
    const char *unit;     /* QUANTITY */
    const char *choices;  /* CHOICE */
    double low, high;     /* COUNT, NUMBER, QUANTITY, SPAN: allowed; both 0 for any */
    /* Where alone it counts, else it is refused: beside other options of the table, "zero" (given),
     * "!keep" (not given), "method=savgol" (a CHOICE that says so, or a LIST that does or was not
     * given).  Alternatives with '|' between them, and ',' between groups of which each must have
     * one that holds; NULL: everywhere. */
    const char *only;
    const char *help;
} shot_option;

#ifdef __cplusplus
}
#endif
#endif
