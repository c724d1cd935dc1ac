/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel as detectors look at it. */
#include "detect/channel_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/resolution.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>

#include "puck/lost_rows.h"
#include "signal/on_change.h"

/* What was read: neither missing nor said again by a logger that had lost its sensors. */
static size_t keep_read(const double *t, const double *y, const bool *frozen, size_t n,
                        shot_channel_view *out) {
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]) || frozen[i])
            continue;
        out->t[out->n] = t[i];
        out->y[out->n++] = y[i];
    }
    return out->n;
}

/* A logger that writes a channel only where its value changes: in the rows between stands the one
 * before. */
static void carry(const double *t, const double *y, size_t n, shot_channel_view *out) {
    double last = NAN;
    out->n = 0;
    for (size_t i = 0; i < n; i++) {
        last = isnan(y[i]) ? last : y[i];
        if (isnan(last))
            continue;
        out->t[out->n] = t[i];
        out->y[out->n++] = last;
    }
}

/* Do other rows of the log have what `view`, the read values of one channel, lacks? */
static bool has_rows_without(const shot_table *shot, const shot_channel_view *view) {
    return view->n + view->frozen < shot->rows.rows;
}

/* Is another channel of the log written only where it changes? */
static shot_status find_on_change(const shot_table *shot, const char *channel, const bool *frozen,
                                  size_t lost, bool *found) {
    const size_t n = shot->rows.rows;
    double *room = malloc(2 * n * sizeof *room);
    *found = false;
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 1; k < shot->head.channel_count && !*found; k++) {
        shot_channel_view other = {.t = room, .y = room + n, .frozen = lost};
        keep_read(shot->rows.column[0], shot->rows.column[k], frozen, n, &other);
        *found = strcmp(shot->head.channels[k].name, channel) != 0 &&
                 has_rows_without(shot, &other) &&
                 is_on_change(other.t, other.y, other.n, shot_resolution(other.y, other.n));
    }
    free(room);
    return SHOT_OK;
}

/* Was the channel, of which `view` has what was read, written only where it changed? */
static shot_status find_carried(const shot_table *shot, const char *channel, const bool *frozen,
                                shot_channel_view *view) {
    if (!has_rows_without(shot, view) || !may_be_on_change(view->y, view->n))
        return SHOT_OK;
    view->carried = is_on_change(view->t, view->y, view->n, view->step);
    return view->carried ? SHOT_OK
                         : find_on_change(shot, channel, frozen, view->frozen, &view->carried);
}

/* The number behind `key` in "pressure sd=0.03 corr=0s"; NaN if there is none. */
static double recorded(const char *text, const char *key) {
    const char *place = strstr(text, key);
    double value = NAN;
    if (place != NULL)
        shot_number_read(place + strlen(key), place + strlen(place), &value);
    return value;
}

/* Only shot-clean touched the samples: it changes single ones, and leaves the noise of the others.
 */
static bool is_only_cleaned(const shot_head *head) {
    static const char *const others[] = {"shot-smooth", "shot-resample", "shot-align",
                                         "shot-average"};
    bool cleaned = false;
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key == NULL || strcmp(line->key, "history") != 0)
            continue;
        cleaned = cleaned || strncmp(line->value, "shot-clean", 10) == 0;
        for (size_t k = 0; k < sizeof others / sizeof *others; k++)
            if (strncmp(line->value, others[k], strlen(others[k])) == 0)
                return false;
    }
    return cleaned;
}

/* The first `# noise:` of a channel is that of the log itself. */
static void take_recorded_noise(const shot_head *head, const char *channel,
                                shot_channel_view *view) {
    size_t length = strlen(channel);
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key == NULL || strcmp(line->key, "noise") != 0 ||
            strncmp(line->value, channel, length) != 0 || line->value[length] != ' ')
            continue;
        double sd = recorded(line->value, " sd="), correlation = recorded(line->value, " corr=");
        view->processed = !is_only_cleaned(head);
        if (sd > 0)
            view->noise.sd = sd;
        if (correlation >= 0 && view->noise.spacing > 0) {
            double r = correlation > 0 ? exp(-view->noise.spacing / correlation) : 0;
            view->noise.lag1 = r;
            view->noise.correlation = correlation;
            view->noise.inflation = (1 + r) / (1 - r);
        }
        return;
    }
}

/* Numbers of the machine are sums of rounded ones: values of a formula, written with all digits,
 * are no surer than this part of the largest. */
static const double rounding = 1e-9;

static double largest(const double *y, size_t n) {
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, fabs(y[i]));
    return most;
}

shot_status shot_channel_view_new(const shot_table *shot, const char *channel,
                                  shot_channel_view *out) {
    *out = (shot_channel_view){0};
    const double *t = shot_table_column(shot, "time"), *y = shot_table_column(shot, channel);
    size_t n = shot->rows.rows;
    if (y == NULL || n < 5)
        return SHOT_ERR_SINGULAR;
    out->t = malloc(n * sizeof *out->t);
    out->y = malloc(n * sizeof *out->y);
    double *work = malloc(shot_noise_workspace(n) * sizeof *work);
    bool *frozen = malloc(n * sizeof *frozen);
    shot_status status = out->t && out->y && work && frozen ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        out->frozen = lost_rows_find(shot, frozen);
    if (status == SHOT_OK && keep_read(t, y, frozen, n, out) < 5)
        status = SHOT_ERR_SINGULAR;
    if (status == SHOT_OK) {
        out->step = shot_resolution(out->y, out->n);
        status = find_carried(shot, channel, frozen, out);
    }
    if (status == SHOT_OK) {
        if (out->carried)
            carry(t, y, n, out);
        status = shot_noise_estimate(out->t, out->y, out->n, out->step, work, &out->noise);
        out->noise.sd = fmax(out->noise.sd, rounding * largest(out->y, out->n));
        take_recorded_noise(&shot->head, channel, out);
    }
    free(work);
    free(frozen);
    if (status == SHOT_ERR_MEMORY)
        shot_channel_view_free(out);
    return status;
}

double shot_channel_view_written_step(const shot_channel_view *view) {
    double least = INFINITY;
    for (size_t i = 1; i < view->n; i++)
        if (view->y[i] != view->y[i - 1])
            least = fmin(least, fabs(view->y[i] - view->y[i - 1]));
    return isfinite(least) ? fmax(view->step, least) : view->step;
}

size_t shot_view_first(const shot_channel_view *view, double time) {
    size_t low = 0, high = view->n;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (view->t[middle] < time)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

double shot_view_at(const shot_channel_view *view, double t) {
    const size_t i = shot_view_first(view, t);
    if (view->n == 0)
        return NAN;
    if (i == 0 || i == view->n)
        return view->y[i == 0 ? 0 : view->n - 1];
    const double share = (t - view->t[i - 1]) / (view->t[i] - view->t[i - 1]);
    return view->y[i - 1] + share * (view->y[i] - view->y[i - 1]);
}

double shot_view_step_on(const shot_channel_view *view, double t, double half, double step) {
    const size_t i = shot_view_first(view, t + step - half);
    const double hole = i < view->n ? view->t[i] - half - t : 0;
    const double next = t + step * fmax(1, floor(hole / step));
    return next > t ? next : INFINITY;
}

void shot_channel_view_free(shot_channel_view *view) {
    free(view->t);
    free(view->y);
    *view = (shot_channel_view){0};
}
