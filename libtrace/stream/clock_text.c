/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clock texts: the forms, and the leaps that are no time. */
#include "stream/clock_text.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "ascii.h"

/* ------------------------------------------------------------------------- pieces of text ---- */

/* A whole number of `least` to `most` digits; -1, and *text stays, if there is none. */
static int64_t read_whole(const char **text, const char *end, int least, int most) {
    const char *p = *text;
    int64_t value = 0;
    int count = 0;
    for (; p < end && count < most && ascii_is_digit(*p); p++, count++)
        value = value * 10 + (*p - '0');
    if (count < least)
        return -1;
    *text = p;
    return value;
}

static bool skip_char(const char **text, const char *end, char c) {
    if (*text == end || **text != c)
        return false;
    ++*text;
    return true;
}

/* A fraction behind whole seconds, with point or comma (ISO 8601-1:2019, 5.3.1.4, allows both),
 * added to `seconds`. */
static bool read_fraction(const char **text, const char *end, shot_decimal *seconds) {
    if (*text == end || (**text != '.' && **text != ','))
        return true;
    const char *digits = *text + 1, *p = digits;
    while (p < end && ascii_is_digit(*p))
        p++;
    shot_decimal fraction;
    if (p == digits || shot_decimal_read(digits, p, -(int)(p - digits), &fraction) == NULL)
        return false;
    *text = p;
    return shot_decimal_add(seconds, &fraction) == SHOT_OK;
}

/* hh:mm:ss, mm:ss, hh:mm; whether there were two or three parts.  The first part has no bound, as
 * a stopwatch counts on. */
static bool read_parts(const char **text, const char *end, bool hours_minutes,
                       shot_decimal *seconds, int *parts) {
    int64_t first = read_whole(text, end, 1, 9), second = -1, third = 0;
    if (first < 0 || !skip_char(text, end, ':') || (second = read_whole(text, end, 1, 2)) < 0 ||
        second > 59)
        return false;
    *parts = 2;
    if (skip_char(text, end, ':')) {
        *parts = 3;
        if ((third = read_whole(text, end, 1, 2)) < 0 || third > 60) /* 60: a leap second */
            return false;
    }
    bool hours = *parts == 3 || hours_minutes;
    *seconds = shot_decimal_whole(hours ? first * 3600 + second * 60 + third : first * 60 + second);
    return (*parts == 2 && hours_minutes) || read_fraction(text, end, seconds);
}

/* AM and PM behind a time of day: 12 AM is midnight, 12 PM noon. */
static bool read_half_day(const char **text, const char *end, shot_decimal *seconds) {
    const char *p = *text;
    while (p < end && *p == ' ')
        p++;
    if (end - p != 2 || (p[1] | 0x20) != 'm' || ((p[0] | 0x20) != 'a' && (p[0] | 0x20) != 'p'))
        return p == end;
    bool afternoon = (p[0] | 0x20) == 'p';
    *text = end;
    shot_decimal noon = shot_decimal_whole(12 * 3600), one = shot_decimal_whole(13 * 3600);
    if (shot_decimal_compare(seconds, &one) >= 0)
        return false;
    bool twelve = shot_decimal_compare(seconds, &noon) >= 0;
    if (twelve && !afternoon)
        return shot_decimal_subtract(seconds, &noon) == SHOT_OK;
    return twelve || !afternoon || shot_decimal_add(seconds, &noon) == SHOT_OK;
}

/* AM or PM: two parts before it are hours and minutes, as no stopwatch has halves of a day. */
static bool has_half_day(const char *text, const char *end) {
    return end - text > 2 && (end[-1] | 0x20) == 'm' &&
           ((end[-2] | 0x20) == 'a' || (end[-2] | 0x20) == 'p');
}

static bool read_day(const char *text, const char *end, bool hours_minutes, shot_decimal *seconds) {
    int parts;
    return read_parts(&text, end, hours_minutes || has_half_day(text, end), seconds, &parts) &&
           read_half_day(&text, end, seconds) && text == end;
}

/* Days from 1970-01-01 to a date of the Gregorian calendar: count the days of the years and
 * months before it, years beginning in March so that the leap day comes last. */
static int64_t days_of(int64_t year, int64_t month, int64_t day) {
    int64_t y = month > 2 ? year : year - 1;
    int64_t m = (month + 9) % 12; /* March is 0 */
    return 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719468;
}

static bool valid_date(int64_t year, int64_t month, int64_t day) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (year < 0 || month < 1 || month > 12 || day < 1)
        return false;
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return day <= days[month - 1] + (month == 2 && leap);
}

/* yyyy-mm-dd, yyyy/mm/dd, yyyymmdd, dd.mm.yyyy. */
static bool read_date(const char **text, const char *end, int64_t *days) {
    const char *p = *text;
    int64_t year = read_whole(&p, end, 4, 4), month = -1, day = -1;
    if (year >= 0 && p < end && ascii_is_digit(*p)) {
        month = read_whole(&p, end, 2, 2);
        day = read_whole(&p, end, 2, 2);
    } else if (year >= 0 && p < end && (*p == '-' || *p == '/')) {
        char mark = *p++;
        month = read_whole(&p, end, 1, 2);
        if (skip_char(&p, end, mark))
            day = read_whole(&p, end, 1, 2);
    } else if (year < 0) {
        day = read_whole(&p, end, 1, 2);
        if (skip_char(&p, end, '.'))
            month = read_whole(&p, end, 1, 2);
        if (skip_char(&p, end, '.'))
            year = read_whole(&p, end, 4, 4);
    }
    if (!valid_date(year, month, day))
        return false;
    *days = days_of(year, month, day);
    *text = p;
    return true;
}

/* hh:mm[:ss[.fff]] or the basic form hhmm[ss[.fff]]. */
static bool read_time_of_day(const char **text, const char *end, shot_decimal *seconds) {
    const char *p = *text;
    int parts;
    while (p < end && ascii_is_digit(*p))
        p++;
    if (p - *text < 4) {
        const char *start = *text;
        if (!read_parts(text, end, false, seconds, &parts) || parts == 3)
            return parts == 3;
        *text = start;
        return read_parts(text, end, true, seconds, &parts);
    }
    int64_t h = read_whole(text, end, 2, 2), m = read_whole(text, end, 2, 2), s = 0;
    if (*text < end && ascii_is_digit(**text))
        s = read_whole(text, end, 2, 2);
    if (h > 24 || m > 59 || s < 0 || s > 60)
        return false;
    *seconds = shot_decimal_whole(h * 3600 + m * 60 + s);
    return read_fraction(text, end, seconds);
}

/* Z, +hh:mm, +hhmm, +hh, or nothing.  ISO 8601-1:2019, 5.3.4. */
static bool read_zone(const char **text, const char *end, int64_t *offset, bool *zoned) {
    *offset = 0;
    *zoned = *text < end;
    if (*text == end || skip_char(text, end, 'Z') || skip_char(text, end, 'z'))
        return true;
    int64_t sign = **text == '-' ? -1 : 1;
    if (!skip_char(text, end, '-') && !skip_char(text, end, '+'))
        return false;
    int64_t hours = read_whole(text, end, 2, 2), minutes = 0;
    if (skip_char(text, end, ':') || *text < end)
        minutes = read_whole(text, end, 2, 2);
    *offset = sign * (hours * 3600 + minutes * 60);
    return hours >= 0 && hours < 24 && minutes >= 0 && minutes < 60;
}

static bool read_date_time(const char *text, const char *end, shot_decimal *seconds, bool *zoned) {
    int64_t days, offset;
    if (!read_date(&text, end, &days) || text == end || strchr("Tt ", *text) == NULL)
        return false;
    while (text < end && strchr("Tt ", *text) != NULL)
        text++;
    if (!read_time_of_day(&text, end, seconds))
        return false;
    const char *zone = text;
    while (zone < end && *zone == ' ')
        zone++;
    if (!read_zone(&zone, end, &offset, zoned)) {
        zone = text;
        *zoned = false;
        offset = 0;
        if (!read_half_day(&zone, end, seconds))
            return false;
    }
    shot_decimal date = shot_decimal_whole(days * 86400 - offset);
    return zone == end && shot_decimal_add(seconds, &date) == SHOT_OK;
}

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
    else if (clock->form == SHOT_CLOCK_DATE && !zoned)
        leap = leap_summer_time(clock, now, &change);
    else if (clock->form == SHOT_CLOCK_NUMBER && shot_decimal_compare(&change, &zero) < 0)
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
        return read_day(text, end, clock->hours_minutes, seconds);
    return clock->form == SHOT_CLOCK_DATE && read_date_time(text, end, seconds, zoned);
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
