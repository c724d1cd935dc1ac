/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a shot was pulled. */
#include "judge/measure_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "trace/date_time.h"

/* Clocks that count from 0 say nothing of the day; the log's metadata often do. */
static const char *const keys[] = {"date",       "datetime",   "date-time",  "timestamp",
                                   "start",      "start-time", "start_time", "started",
                                   "started-at", "started_at", "brewed-at",  "pulled-at"};

static double number_in(const char *text) {
    double value = NAN;
    if (text == NULL || shot_number_read(text, text + strlen(text), &value) != text + strlen(text))
        return NAN;
    return value;
}

/* An epoch in s or ms, of the years 2001 to 2286: other numbers are no dates. */
static double epoch_in(const char *text) {
    const double value = number_in(text);
    if (value >= 1e9 && value < 1e10)
        return value;
    return value >= 1e12 && value < 1e13 ? value / 1000 : NAN;
}

static double date_in(const char *text) {
    shot_decimal seconds;
    bool zoned;
    if (text == NULL || !date_time_read(text, text + strlen(text), &seconds, &zoned))
        return NAN;
    return shot_decimal_value(&seconds);
}

/* A date and a time of day in lines of their own. */
static double date_and_time_of(const shot_head *head) {
    const char *date = shot_head_value(head, "date"), *time = shot_head_value(head, "time");
    char both[64];
    const size_t length = date != NULL ? strlen(date) : 0;
    if (date == NULL || time == NULL || length + strlen(time) + 2 > sizeof both)
        return NAN;
    memcpy(both, date, length);
    both[length] = ' ';
    memcpy(both + length + 1, time, strlen(time) + 1);
    return date_in(both);
}

static double time_of(const shot_head *head) {
    const double origin = number_in(shot_head_value(head, "t0"));
    /* s, spring 1973 of the usual epoch: a smaller origin is a clock that started with the
     * machine. */
    if (origin >= 1e8)
        return origin;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const char *text = shot_head_value(head, keys[i]);
        const double date = date_in(text), epoch = epoch_in(text);
        if (!isnan(date) || !isnan(epoch))
            return isnan(date) ? epoch : date;
    }
    return date_and_time_of(head);
}

shot_status shot_measure_pulled(const shot_view *view, shot_measure_list *out) {
    return shot_measure_add_plain(out, "pulled.clock", time_of(&view->shot->head));
}
