/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dates and times of day. */
#include "trace/date_time.h"

#include <math.h>
#include <string.h>

#include "ascii.h"

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

bool time_of_day_read(const char *text, const char *end, bool hours_minutes,
                      shot_decimal *seconds) {
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

/* dd/mm/yyyy and mm/dd/yyyy are told apart by a number over 12, or by AM or PM, which go with the
 * month first (Unicode CLDR, short dates of en-US); else nobody can. */
static bool order_day_and_month(bool half_day, int64_t *day, int64_t *month) {
    const bool month_first = *day <= 12 && (half_day || *month > 12);
    if (month_first) {
        const int64_t first = *day;
        *day = *month;
        *month = first;
    }
    return month_first || *day > 12;
}

/* yyyy-mm-dd, yyyy/mm/dd, yyyymmdd, dd.mm.yyyy, dd/mm/yyyy or mm/dd/yyyy. */
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
        const char mark = p < end && *p == '/' ? '/' : '.';
        if (skip_char(&p, end, mark))
            month = read_whole(&p, end, 1, 2);
        if (skip_char(&p, end, mark))
            year = read_whole(&p, end, 4, 4);
        if (mark == '/' && !order_day_and_month(has_half_day(p, end), &day, &month))
            return false;
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

/* Names of the zone of Z. */
static bool skip_universal_time(const char **text, const char *end) {
    static const char *const names[] = {"UTC", "GMT", "Z", "z"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const size_t length = strlen(names[i]);
        if ((size_t)(end - *text) == length && memcmp(*text, names[i], length) == 0) {
            *text = end;
            return true;
        }
    }
    return false;
}

/* "[Europe/Tidewick]" behind the zone's offset says where that offset comes from (RFC 9557, 3.1),
 * and is no part of the time. */
static const char *without_suffix(const char *text, const char *end) {
    const char *open =
        end > text && end[-1] == ']' ? memchr(text, '[', (size_t)(end - text)) : NULL;
    return open != NULL ? open : end;
}

/* Z, +hh:mm, +hhmm, +hh, or nothing.  ISO 8601-1:2019, 5.3.4. */
static bool read_zone(const char **text, const char *end, int64_t *offset, bool *zoned) {
    *offset = 0;
    *zoned = *text < end;
    if (*text == end || skip_universal_time(text, end))
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

bool date_time_read(const char *text, const char *end, shot_decimal *seconds, bool *zoned) {
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
    const char *last = without_suffix(zone, end);
    if (last > zone && read_zone(&zone, last, &offset, zoned)) {
        zone = zone == last ? end : zone;
    } else if (!read_zone(&zone, end, &offset, zoned)) {
        zone = text;
        *zoned = false;
        offset = 0;
        if (!read_half_day(&zone, end, seconds))
            return false;
    }
    shot_decimal date = shot_decimal_whole(days * 86400 - offset);
    return zone == end && shot_decimal_add(seconds, &date) == SHOT_OK;
}

/* H. Hinnant, 'chrono-compatible low-level date algorithms', civil_from_days: years are counted
 * from March. */
shot_status date_time_add_day(shot_text *words, double seconds) {
    if (!(fabs(seconds) < 2e11))
        return SHOT_OK;
    long days = (long)floor(seconds / 86400) + 719468, era = days / 146097, of_era = days % 146097;
    long year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    long of_year = of_era - (365 * year + year / 4 - year / 100), month = (5 * of_year + 2) / 153;
    long day = of_year - (153 * month + 2) / 5 + 1;
    month = month < 10 ? month + 3 : month - 9;
    return shot_text_add_format(words, " on %04ld-%02ld-%02ld", year + 400 * era + (month <= 2),
                                month, day);
}
