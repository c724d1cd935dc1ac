/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The clocks of logs: what their texts mean in seconds, exactly.
 *
 *     shot_clock clock = {0};
 *     shot_clock_guess(texts, count, unit, &clock, &reasons);
 *     for each row: shot_clock_read(&clock, text, end, &seconds, &leap)
 *
 * A clock remembers its last reading, because the text of a clock can leap where time does not: at
 * midnight, at a change of summer time, when a counter wraps.  It is fed the rows in their order,
 * and nothing else, so its readings depend on the rows alone. */
#ifndef SHOT_STREAM_CLOCK_TEXT_H
#define SHOT_STREAM_CLOCK_TEXT_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/text.h>

#include "stream/cell_text.h"

typedef enum shot_clock_form {
    SHOT_CLOCK_UNKNOWN,
    SHOT_CLOCK_NUMBER, /* of some unit: elapsed time, an epoch, a counter */
    SHOT_CLOCK_DAY,    /* [hh:]mm:ss[.fff], with AM or PM if so written */
    SHOT_CLOCK_DATE    /* ISO 8601 date and time, or dd.mm.yyyy hh:mm:ss, with or without a zone */
} shot_clock_form;

typedef enum shot_clock_leap {
    SHOT_LEAP_NONE,
    SHOT_LEAP_MIDNIGHT,
    SHOT_LEAP_SUMMER_TIME,
    SHOT_LEAP_WRAP
} shot_clock_leap;

typedef struct shot_clock {
    shot_clock_form form;
    int shift; /* a NUMBER counts `factor` * 10^shift seconds */
    int32_t factor;
    int64_t zero;       /* ... from so many seconds on */
    bool hours_minutes; /* two parts of a DAY are hh:mm, not mm:ss */
    shot_decimal wrap;  /* seconds after which a counter begins anew; 0: 2^16 and 2^32 counts are
                           recognised where it falls by just that */
    bool doubtful;      /* taken for ms, but a hand may have read them in s */
    /* What it remembers. */
    bool running;
    shot_decimal last;   /* the last reading as written, in s */
    shot_decimal step;   /* the last positive step, in s */
    shot_decimal leaped; /* what all leaps so far add to a reading */
} shot_clock;

/* The form that a text looks like.  Blanks around it are allowed. */
shot_clock_form shot_clock_form_of(const char *text, const char *end);

/* How many readings tell what a clock is: enough for a guess, few enough for a live log. */
enum { SHOT_CLOCK_READINGS = 16 };

/* Work out form and unit from the first readings.
 *   texts    the first `count` readings, in order; empty ones are passed over.  With fewer than
 *            SHOT_CLOCK_READINGS they are all that the log has
 *   unit     what the log says it counts in ("s", "ms", "min" ...), "" if it does not say
 *   clock    receives form, shift and factor
 *   reasons  a line is appended
 * SHOT_ERR_SYNTAX if they are no clock that is known, SHOT_ERR_UNIT if `unit` is no unit of
 * time. */
shot_status shot_clock_guess(const shot_cell *texts, size_t count, const char *unit,
                             shot_clock *clock, shot_text *reasons, shot_error *error);

/* Set form and unit by name: "s", "ms", "us", "ns", "min", "h", "min:s", "h:min", "h:min:s",
 * "date".  False for another name. */
bool shot_clock_set(shot_clock *clock, const char *name);

/* Say after how many counts the counter begins anew.  False if that is no clock of numbers, or too
 * many. */
bool shot_clock_set_wrap(shot_clock *clock, double counts);

/* One reading in seconds: since the clock's own zero, midnight, or 1970-01-01 00:00 UTC (local
 * time where no zone is said).  False, and nothing changed, if the text is none of its kind.
 *   leap  what the text leapt over since the reading before */
bool shot_clock_read(shot_clock *clock, const char *text, const char *end, shot_decimal *seconds,
                     shot_clock_leap *leap);

/* Another shot begins: a clock of numbers may start anew, the time of day goes on. */
void shot_clock_next_shot(shot_clock *clock);

/* True if readings are far from zero by nature (times of day, dates), so that a stream needs an
 * origin. */
bool shot_clock_needs_origin(const shot_clock *clock);

#endif
