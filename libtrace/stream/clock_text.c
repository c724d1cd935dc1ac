/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clock texts: the forms, and the leaps that are no time. */
#include "stream/clock_text.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "ascii.h"
#include "trace/date_time.h"

static bool read_number(const char *text, const char *end, const shot_clock *clock,
                        shot_decimal *seconds) {
    const shot_decimal zero = shot_decimal_whole(clock->zero);
    return shot_decimal_read(text, end, clock->shift, seconds) == end &&
           (clock->factor == 1 || shot_decimal_multiply(seconds, clock->factor) == SHOT_OK) &&
           (clock->zero == 0 || shot_decimal_add(seconds, &zero) == SHOT_OK);
}

/* ------------------------------------------------------------------------------- the leaps --- */

static shot_decimal difference(const shot_decimal *a, const shot_decimal *b) {
    shot_decimal d = *a;
    /* Two readings are each under 10^27 s; where their difference is not, no leap is near. */
    if (shot_decimal_subtract(&d, b) != SHOT_OK)
        d = (shot_decimal){{0}};
    return d;
}

static int compare_seconds(const shot_decimal *a, int64_t seconds) {
    shot_decimal whole = shot_decimal_whole(seconds);
    return shot_decimal_compare(a, &whole);
}

/* Times of day more than half a day apart: midnight lies between, in either direction (rows about
 * midnight may be disordered), but never before the first day. */
static shot_clock_leap leap_midnight(shot_clock *clock, const shot_decimal *change) {
    int64_t days =
        compare_seconds(change, -43200) < 0                                                 ? 1
        : compare_seconds(change, 43200) > 0 && compare_seconds(&clock->leaped, 86400) >= 0 ? -1
                                                                                            : 0;
    shot_decimal day = shot_decimal_whole(days * 86400);
    if (days == 0 || shot_decimal_add(&clock->leaped, &day) != SHOT_OK)
        return SHOT_LEAP_NONE;
    return SHOT_LEAP_MIDNIGHT;
}

/* Local time that falls or leaps by an hour, less than a minute of it aside, from the last minute
 * of an hour into the first of another: summer time ended or began.  (Readings count from a full
 * hour, so the minute is the reading modulo 3600 s.) */
static shot_clock_leap leap_summer_time(shot_clock *clock, const shot_decimal *now,
                                        const shot_decimal *change) {
    const double before = fmod(trunc(shot_decimal_value(&clock->last)), 3600);
    const double after = fmod(trunc(shot_decimal_value(now)), 3600);
    int64_t hours = 0;
    if (compare_seconds(change, -3600) > 0 && compare_seconds(change, -3540) < 0)
        hours = 1;
    else if (compare_seconds(change, 3600) > 0 && compare_seconds(change, 3660) < 0)
        hours = -1;
    if (hours == 0 || before < 3540 || after >= 60)
        return SHOT_LEAP_NONE;
    shot_decimal hour = shot_decimal_whole(hours * 3600);
    return shot_decimal_add(&clock->leaped, &hour) == SHOT_OK ? SHOT_LEAP_SUMMER_TIME
                                                              : SHOT_LEAP_NONE;
}

/* A counter begins anew where its reading falls by more than half of its modulus. */
static bool falls_by_half(const shot_decimal *change, const shot_decimal *modulus) {
    shot_decimal twice = *change, zero = {{0}};
    return shot_decimal_multiply(&twice, 2) == SHOT_OK &&
           shot_decimal_add(&twice, modulus) == SHOT_OK && shot_decimal_compare(&twice, &zero) < 0;
}

/* A counter that falls by its modulus less a usual step began anew.  A step is usual if it is at
 * most ten times the one before. */
static bool wraps_at(const shot_clock *clock, const shot_decimal *change,
                     const shot_decimal *modulus) {
    shot_decimal step = *change, usual = clock->step, zero = {{0}};
    return falls_by_half(change, modulus) && shot_decimal_add(&step, modulus) == SHOT_OK &&
           shot_decimal_compare(&step, &zero) > 0 && shot_decimal_multiply(&usual, 10) == SHOT_OK &&
           shot_decimal_compare(&step, &usual) <= 0;
}

/* So many counts, in seconds. */
static bool modulus_of(const shot_clock *clock, double counts, shot_decimal *modulus) {
    char text[SHOT_NUMBER_ROOM];
    size_t length = shot_number_write(text, counts);
    return shot_decimal_read(text, text + length, clock->shift, modulus) != NULL &&
           shot_decimal_multiply(modulus, clock->factor) == SHOT_OK;
}

bool shot_clock_set_wrap(shot_clock *clock, double counts) {
    return clock->form == SHOT_CLOCK_NUMBER && modulus_of(clock, counts, &clock->wrap);
}

static shot_clock_leap leap_wrap(shot_clock *clock, const shot_decimal *change) {
    static const double usual[] = {65536, 4294967296};
    shot_decimal zero = {{0}}, modulus = clock->wrap;
    bool found;
    if (shot_decimal_compare(&modulus, &zero) > 0) {
        found = falls_by_half(change, &modulus);
    } else {
        found = false;
        for (int i = 0; i < 2 && !found; i++)
            found = modulus_of(clock, usual[i], &modulus) && wraps_at(clock, change, &modulus);
    }
    if (!found || shot_decimal_add(&clock->leaped, &modulus) != SHOT_OK)
        return SHOT_LEAP_NONE;
    return SHOT_LEAP_WRAP;
}

static shot_clock_leap leap_over(shot_clock *clock, const shot_decimal *now, bool zoned) {
    shot_decimal change = difference(now, &clock->last), zero = {{0}};
    shot_clock_leap leap = SHOT_LEAP_NONE;
    if (clock->form == SHOT_CLOCK_DAY)
        leap = leap_midnight(clock, &change);
    if (leap == SHOT_LEAP_NONE && shot_clock_needs_origin(clock) && !zoned)
        leap = leap_summer_time(clock, now, &change);
    if (clock->form == SHOT_CLOCK_NUMBER && shot_decimal_compare(&change, &zero) < 0)
        leap = leap_wrap(clock, &change);
    if (leap == SHOT_LEAP_NONE && shot_decimal_compare(&change, &zero) > 0)
        clock->step = change;
    return leap;
}

/* --------------------------------------------------------------------------- in and out ------ */

static bool read_form(const shot_clock *clock, const char *text, const char *end,
                      shot_decimal *seconds, bool *zoned) {
    *zoned = false;
    if (clock->form == SHOT_CLOCK_NUMBER)
        return read_number(text, end, clock, seconds);
    if (clock->form == SHOT_CLOCK_DAY)
        return time_of_day_read(text, end, clock->hours_minutes, seconds);
    return clock->form == SHOT_CLOCK_DATE && date_time_read(text, end, seconds, zoned);
}

bool shot_clock_read(shot_clock *clock, const char *text, const char *end, shot_decimal *seconds,
                     shot_clock_leap *leap) {
    shot_decimal now;
    bool zoned;
    shot_cell all = {text, (size_t)(end - text)}, bare = shot_cell_trimmed(&all);
    if (!read_form(clock, bare.text, bare.text + bare.length, &now, &zoned))
        return false;
    *leap = clock->running ? leap_over(clock, &now, zoned) : SHOT_LEAP_NONE;
    clock->running = true;
    clock->last = now;
    *seconds = now;
    return shot_decimal_add(seconds, &clock->leaped) == SHOT_OK;
}

void shot_clock_next_shot(shot_clock *clock) {
    if (clock->form != SHOT_CLOCK_NUMBER)
        return;
    clock->running = false;
    clock->leaped = clock->step = (shot_decimal){{0}};
}

bool shot_clock_needs_origin(const shot_clock *clock) {
    return clock->form == SHOT_CLOCK_DAY || clock->form == SHOT_CLOCK_DATE;
}

shot_clock_form shot_clock_form_of(const char *text, const char *end) {
    static const shot_clock_form forms[] = {SHOT_CLOCK_NUMBER, SHOT_CLOCK_DATE, SHOT_CLOCK_DAY};
    shot_cell all = {text, (size_t)(end - text)}, bare = shot_cell_trimmed(&all);
    for (size_t i = 0; i < sizeof forms / sizeof *forms && bare.length > 0; i++) {
        shot_clock clock = {.form = forms[i], .factor = 1};
        shot_decimal seconds;
        bool zoned;
        if (read_form(&clock, bare.text, bare.text + bare.length, &seconds, &zoned))
            return forms[i];
    }
    return SHOT_CLOCK_UNKNOWN;
}

bool shot_clock_set(shot_clock *clock, const char *name) {
    static const struct {
        const char *name;
        shot_clock_form form;
        int shift;
        int32_t factor;
        bool hours_minutes;
    } named[] = {
        {"s", SHOT_CLOCK_NUMBER, 0, 1, false},    {"ms", SHOT_CLOCK_NUMBER, -3, 1, false},
        {"us", SHOT_CLOCK_NUMBER, -6, 1, false},  {"ns", SHOT_CLOCK_NUMBER, -9, 1, false},
        {"min", SHOT_CLOCK_NUMBER, 0, 60, false}, {"h", SHOT_CLOCK_NUMBER, 0, 3600, false},
        {"min:s", SHOT_CLOCK_DAY, 0, 1, false},   {"h:min", SHOT_CLOCK_DAY, 0, 1, true},
        {"h:min:s", SHOT_CLOCK_DAY, 0, 1, false}, {"date", SHOT_CLOCK_DATE, 0, 1, false},
    };
    for (size_t i = 0; i < sizeof named / sizeof *named; i++)
        if (strcmp(named[i].name, name) == 0) {
            clock->form = named[i].form;
            clock->shift = named[i].shift;
            clock->factor = named[i].factor;
            clock->hours_minutes = named[i].hours_minutes;
            return true;
        }
    return false;
}
