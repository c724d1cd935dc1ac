/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last seconds of a running shot, looked at as the whole is at its end.
 *
 * Ten times a second a glance takes the change of slope at the place half a second ago.  When one
 * stood out, the last seconds are judged by the same search as the whole shot, twice a second at
 * most, so that the cost does not grow with the shot. */
#include "detect/knee_watch.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/straight_line.h>

#include "detect/fresh_values.h"
#include "detect/knee_finder.h"
#include "detect/knee_sizes.h"
#include "detect/last_rows.h"

static const double behind = 0.55; /* s from a place to the last row, at least */
enum { SAMPLES = 4 };              /* ... and samples */
static const double memory = 4;    /* s that are judged */
static const double glance = 0.1;  /* s between glances */
static const double pause = 0.5;   /* s between judgements */
static const double clear = 3;     /* standard errors that are worth a judgement */
static const double windows = 10;  /* of `memory` that a shot has, about, to share its alarms */
static const double level = 0.95;  /* of intervals, which a provisional mark does not show */

/* A knee that was told of. */
typedef struct told {
    double at, change;
} told;

typedef struct channel_watch {
    double low, high; /* of the values so far */
    bool bends;       /* a glance since the last judgement saw one */
    double judged;    /* s */
    told *told;       /* [count] of the last seconds */
    size_t count;
} channel_watch;

typedef struct watch_state {
    channel_watch *channels; /* [count], those of the settings */
    size_t count;
    double looked; /* s */
} watch_state;

/* ---- a glance ---- */

/* The time from a place to the last row: enough for both sides of a rounded knee, and for a line of
 * four samples. */
static double reach_of(const double *t, size_t n) {
    size_t back = n > SAMPLES ? SAMPLES : n - 1;
    return fmax(behind, t[n - 1] - t[n - 1 - back]);
}

static bool is_worth(const channel_watch *self, double change) {
    return fabs(change) >= shot_knee_least * (self->high - self->low);
}

/* The lines through the samples on both sides of the place.  One of them may lie across another
 * bend; the straighter one tells the scatter. */
static bool bends(const channel_watch *self, const double *t, const double *y, size_t n,
                  double reach) {
    const double at = t[n - 1] - reach;
    shot_straight_line before, after;
    if (shot_straight_line_fit(t, y, n, at - reach, at, &before) != SHOT_OK ||
        shot_straight_line_fit(t, y, n, at, t[n - 1], &after) != SHOT_OK)
        return false;
    const double sd = fmin(before.sd, after.sd), change = after.slope - before.slope;
    const double se =
        sd > 0 ? sd * hypot(before.slope_se / before.sd, after.slope_se / after.sd) : 0;
    return fabs(change) > clear * se && is_worth(self, change);
}

/* ---- the judgement ---- */

static shot_status view_of_last(const shot_table *shot, const char *channel,
                                shot_channel_view *out) {
    shot_table last;
    shot_channel_view rows = {0};
    SHOT_TRY(shot_last_rows(shot, memory, &last));
    shot_status status = shot_channel_view_new(&last, channel, &rows);
    if (status == SHOT_OK)
        status = shot_view_fresh(&rows, out);
    shot_channel_view_free(&rows);
    shot_last_rows_free(&last);
    return status;
}

static void forget_before(channel_watch *self, double time) {
    size_t kept = 0;
    for (size_t i = 0; i < self->count; i++)
        if (self->told[i].at >= time)
            self->told[kept++] = self->told[i];
    self->count = kept;
}

static bool is_told(const channel_watch *self, double at, double change) {
    for (size_t i = 0; i < self->count; i++)
        if (fabs(self->told[i].at - at) < SHOT_KNEE_APART && self->told[i].change * change > 0)
            return true;
    return false;
}

static shot_status tell(channel_watch *self, const shot_knee *knee, const char *channel,
                        shot_findings *found) {
    const double change = knee->after - knee->before;
    shot_mark mark = shot_mark_none();
    if (!is_worth(self, change) || is_told(self, knee->at, change))
        return SHOT_OK;
    told *grown = realloc(self->told, (self->count + 1) * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    self->told = grown;
    grown[self->count++] = (told){knee->at, change};
    mark.kind = (char *)"knee";
    mark.from = mark.to = knee->at;
    mark.channel = (char *)channel;
    return shot_findings_add(found, &mark);
}

/* A knee at either end of the last seconds lacks one of its sides. */
static shot_status judge(channel_watch *self, const shot_table *shot, const char *channel,
                         double end, double reach, double alarm_rate, shot_findings *found) {
    shot_channel_view view = {0};
    shot_knee *knees = NULL;
    size_t count = 0;
    shot_status status = view_of_last(shot, channel, &view);
    if (status == SHOT_OK && shot_knee_squares_hold(&view)) {
        view.step = shot_channel_view_written_step(&view);
        view.noise.sd = fmax(view.noise.sd, view.step / sqrt(12));
        status = shot_knees_find(&view, alarm_rate, level, &knees, &count);
    }
    forget_before(self, end - 2 * memory);
    for (size_t i = 0; i < count && status == SHOT_OK; i++)
        if (knees[i].at <= end - reach && knees[i].at >= view.t[0] + reach)
            status = tell(self, &knees[i], channel, found);
    free(knees);
    shot_channel_view_free(&view);
    return status == SHOT_ERR_SINGULAR ? SHOT_OK : status; /* too few samples for any */
}

/* ---- each row ---- */

static shot_status watch_channel(channel_watch *self, const shot_table *shot, const char *channel,
                                 double alarm_rate, shot_findings *found) {
    const double *t = shot->rows.column[0], *y = shot_table_column(shot, channel);
    const double end = t[shot->rows.rows - 1], reach = reach_of(t, shot->rows.rows);
    size_t n = shot->rows.rows, first = n;
    while (first > 0 && t[first - 1] >= end - 2 * reach)
        first--;
    self->bends = self->bends || bends(self, t + first, y + first, n - first, reach);
    if (!self->bends || end < self->judged + pause)
        return SHOT_OK;
    self->bends = false;
    self->judged = end;
    return judge(self, shot, channel, end, reach, alarm_rate, found);
}

static shot_status begin(watch_state *self, size_t count) {
    self->channels = calloc(count + 1, sizeof *self->channels);
    if (self->channels == NULL)
        return SHOT_ERR_MEMORY;
    self->count = count;
    self->looked = -INFINITY;
    for (size_t i = 0; i < count; i++)
        self->channels[i] =
            (channel_watch){.low = INFINITY, .high = -INFINITY, .judged = -INFINITY};
    return SHOT_OK;
}

/* The range so far; fmin and fmax pass over what is missing. */
static void take(channel_watch *self, const double *column, size_t row) {
    if (column == NULL)
        return;
    self->low = fmin(self->low, column[row]);
    self->high = fmax(self->high, column[row]);
}

static shot_status look(void *state, const shot_table *shot, const void *values,
                        shot_findings *found, shot_error *error) {
    watch_state *self = state;
    const struct knees_settings *settings = values;
    const size_t last = shot->rows.rows - 1;
    const double end = shot->rows.column[0][last];
    char *const *names = settings->channels.items;
    if (settings->model != KNEES_PHASES)
        return SHOT_OK;
    if (self->channels == NULL)
        SHOT_TRY(begin(self, settings->channels.count));
    for (size_t i = 0; i < self->count; i++)
        take(&self->channels[i], shot_table_column(shot, names[i]), last);
    if (end < self->looked + glance)
        return SHOT_OK;
    self->looked = end;
    for (size_t i = 0; i < self->count; i++)
        if (shot_table_column(shot, names[i]) != NULL)
            SHOT_TRY(watch_channel(&self->channels[i], shot, names[i],
                                   settings->alarm_rate / 100 / windows, found));
    return SHOT_OK;
}

static void release(void *state) {
    watch_state *self = state;
    for (size_t i = 0; i < self->count; i++)
        free(self->channels[i].told);
    free(self->channels);
}

const shot_watch knee_watch = {
    .size = sizeof(watch_state), .look = look, .free = release, .apart = 0.5};
