/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last seconds of a running shot, judged by what the seconds before them lead to expect.
 *
 * Ten times a second a first glance compares the conductance of the latest samples with that of the
 * seconds before; what stands out is weighed with all that is not known of it (surge_latest.h).
 * No more than the last twenty seconds are looked at, so that the cost does not grow with the shot.
 */
#include "detect/surge_watch.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/straight_line.h>

#include "detect/last_rows.h"
#include "detect/surge_pieces.h"
#include "detect/surge_input.h"
#include "detect/surge_rules.h"
#include "puck/water_counter.h"

static const double memory = 20;    /* s that are looked at */
static const double shown = 3.5;    /* s that a glance sees */
static const double glance = 0.07;  /* s between glances, less than rows at 10 Hz are apart */
static const double now = 0.5;      /* s: the latest samples of a flow meter */
static const double now_summed = 1; /* s: and of a scale, whose slope is the flow */
static const double gap = 0.5;      /* s between those and the ones they are compared with */
static const double worth = 1.03;   /* rise of conductance that is worth the test */
static const double noticed = 2;    /* standard errors */
static const double clear = 3;      /* the same, of what rules an opening out */
static const double quiet = 3;      /* s after a mark in which no other is sent */
static const double raised = 1.04;  /* pressure after over before, half a second each, 1 s apart */
static const double started = 0.1;  /* of a change: its transition (IEEE Std 181-2011) */
static const double lenient = 2;    /* times the alarm rate: who eases off for nothing loses
                                       little, and the end of the shot withdraws the mark */
static const double level = 0.95;   /* of intervals, which a provisional mark does not show */
static const size_t enough = 8;     /* samples: more than the states of the filter */
static const double wet = 0.5;      /* g in the cup, more than a scale's noise: it drips */
static const double building = 3;   /* s after that in which the stream still builds up; common
                                       practice, no source */

typedef struct watch_state {
    double looked, told; /* s */
    bool begun;
    double empty, drips; /* weight of the empty cup; when there was more in it, s */
    bool weighed, wet;
} watch_state;

/* The last rows: columns are borrowed. */
typedef struct latest {
    const double *t, *pressure,
        *weight;         /* [n]; weight is NULL where none drips; or counted water */
    double *conductance; /* [n] flow over pressure; owned; NULL without a meter */
    size_t n;
    double end;
} latest;

/* ---- a first glance ---- */

/* A mean and its standard error. */
typedef struct rate {
    double mean, se;
} rate;

static rate pressure_over(const latest *rows, double from, double to) {
    double n = 0, sum = 0, squares = 0;
    for (size_t i = rows->n; i-- > 0 && rows->t[i] >= from;) {
        double p = rows->t[i] <= to ? rows->pressure[i] : NAN;
        if (isnan(p))
            continue;
        n++;
        sum += p;
        squares += p * p;
    }
    double mean = sum / n, variance = fmax(squares / n - mean * mean, 0) * n / (n - 1);
    return (rate){mean, n > 1 ? sqrt(variance / n) : INFINITY};
}

/* The puck is under pressure, which does not rise. */
static bool is_held(const latest *rows) {
    rate before = pressure_over(rows, rows->end - surge_news - now, rows->end - surge_news);
    rate after = pressure_over(rows, rows->end - now, rows->end);
    return before.mean > surge_unloaded && after.mean > surge_unloaded &&
           after.mean - surge_steady * before.mean < 2 * clear * hypot(before.se, after.se);
}

/* Flow over pressure in the latest samples, against where its line through the earlier ones leads;
 * few late samples tell their own scatter badly, so that of the early ones is taken. */
static bool flow_rose(const latest *rows) {
    shot_straight_line early;
    double from = rows->end - now, n = 0, sum = 0, time = 0;
    for (size_t i = rows->n; i-- > 0 && rows->t[i] > from;)
        if (!isnan(rows->conductance[i])) {
            sum += rows->conductance[i];
            time += rows->t[i];
            n++;
        }
    if (n == 0 || shot_straight_line_fit(rows->t, rows->conductance, rows->n, rows->t[0],
                                         from - gap, &early) != SHOT_OK)
        return false;
    double away = time / n - early.centre, before = early.level + away * early.slope;
    double se = hypot(hypot(early.level_se, away * early.slope_se), early.sd / sqrt(n));
    return before > 0 && sum / n > worth * before && sum / n - before > noticed * se;
}

/* The same of a scale: the slope of the latest samples against that of the earlier ones.  That of a
 * line of n samples a step apart has a variance that goes with 1 / n^3. */
static bool weight_rose(const latest *rows) {
    shot_straight_line early, late;
    double from = rows->end - now_summed, before = pressure_over(rows, rows->t[0], from).mean;
    double after = pressure_over(rows, from, rows->end).mean;
    if (shot_straight_line_fit(rows->t, rows->weight, rows->n, rows->t[0], from, &early) !=
            SHOT_OK ||
        shot_straight_line_fit(rows->t, rows->weight, rows->n, from, rows->end, &late) != SHOT_OK)
        return false;
    double longer = (double)early.n / (double)late.n, se = early.slope_se / before;
    double rise = late.slope / after - early.slope / before;
    return early.slope > 0 && rise > (worth - 1) * early.slope / before &&
           rise > noticed * se * sqrt(1 + longer * longer * longer);
}

/* ---- the test ---- */

static bool was_raised(const shot_channel_view *pressure, double t) {
    const double half = fmax(now / 2, pressure->noise.spacing);
    double before = shot_view_mean(pressure, t - 1 - 2 * half, t - 1);
    double after = shot_view_mean(pressure, t - 2 * half, t);
    double se = pressure->noise.sd * sqrt(pressure->noise.spacing / half);
    return after - raised * before > clear * se;
}

/* Since when pressure has not been raised: what the bed does before is not what it does then. */
static double held_since(const shot_channel_view *pressure, double from, double end) {
    double since = end;
    while (since > from && !was_raised(pressure, since))
        since -= glance;
    return fmax(since, from);
}

/* A mean of half a second lies below that of the one before by what changes it on purpose, and more
 * than its noise; it was begun where the first sample leaves the earlier one by a tenth. */
double surge_watch_lowered(const shot_channel_view *pressure, double first, double last) {
    const double half = fmax(now / 2, pressure->noise.spacing);
    const double se = pressure->noise.sd * sqrt(pressure->noise.spacing / half);
    for (size_t i = 0; i < pressure->n && pressure->t[i] <= last + 1; i++) {
        const double t = pressure->t[i], before = shot_view_mean(pressure, t - 1 - 2 * half, t - 1);
        const double fall = before - shot_view_mean(pressure, t - 2 * half, t);
        if (t < first || !(fall > (1 - 1 / raised) * before + clear * se))
            continue;
        size_t begun = i;
        while (begun > 0 && pressure->t[begun - 1] > t - 1 - half &&
               pressure->y[begun - 1] < before - started * fall)
            begun--;
        return pressure->t[begun] >= first && pressure->t[begun] <= last ? pressure->t[begun] : NAN;
    }
    return NAN;
}

static shot_status take(const shot_phase_input *input, const shot_channel_view *view, bool summed,
                        double from, double to, conductance_data *data, conductance_data **channels,
                        size_t *count) {
    if (view->n < enough || !(to - from > surge_news))
        return SHOT_OK;
    SHOT_TRY(surge_input_take(input, view, 0, summed, from, to, data));
    if (data->n >= enough && data->middle > 0)
        channels[(*count)++] = data;
    return SHOT_OK;
}

/* A surge in the last rows, with its loss until then: none or one. */
static shot_status test(const watch_state *self, const shot_phase_input *input, double end,
                        double alarm_rate, surge **out, size_t *found) {
    conductance_data flow = {0}, weight = {0}, *channels[2];
    size_t sources = 0;
    double from = held_since(&input->pressure, end - memory, end);
    double dripping = self->wet ? fmax(from, self->drips + building) : end;
    const bool counted = input->water.n > 0;
    shot_status status = take(input, counted ? &input->water : &input->flow, counted, from, end,
                              &flow, channels, &sources);
    if (status == SHOT_OK)
        status = take(input, &input->weight, true, dripping, end, &weight, channels, &sources);
    if (status == SHOT_OK)
        status = surges_find(channels, sources,
                             &(surge_search){end - surge_news, INFINITY, true, alarm_rate, level},
                             out, found);
    surge_input_free(&flow);
    surge_input_free(&weight);
    return status;
}

static shot_status test_last(const watch_state *self, const shot_table *shot, double alarm_rate,
                             surge **out, size_t *found) {
    shot_table last;
    shot_phase_input input;
    *out = NULL;
    *found = 0;
    SHOT_TRY(shot_last_rows(shot, memory, &last));
    shot_status status = shot_phase_input_take(&last, &input);
    if (status == SHOT_OK && input.pressure.n >= 8)
        status =
            test(self, &input, last.rows.column[0][last.rows.rows - 1], alarm_rate, out, found);
    shot_phase_input_free(&input);
    shot_last_rows_free(&last);
    return status;
}

static void weigh(watch_state *self, double t, double weight) {
    if (isnan(weight))
        return;
    if (!self->weighed)
        self->empty = weight;
    self->weighed = true;
    if (!self->wet && weight > self->empty + wet) {
        self->wet = true;
        self->drips = t;
    }
}

shot_status surge_watch_until(const shot_table *shot, size_t rows, double alarm_rate, surge **out,
                              size_t *found, shot_error *error) {
    const double *weight = shot_table_column(shot, "weight");
    shot_table part = *shot;
    watch_state state = {0};
    for (size_t i = 0; i < rows && weight != NULL; i++)
        weigh(&state, shot->rows.column[0][i], weight[i]);
    part.rows.rows = rows;
    return test_last(&state, &part, lenient * alarm_rate, out, found);
}

static shot_status tell(double onset, const char *channel, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"surge";
    mark.from = onset;
    mark.channel = (char *)channel;
    return shot_findings_add(found, &mark);
}

static const char *seen_in(const shot_head *head) {
    return shot_head_channel(head, "flow") >= 0 ? "flow"
           : shot_water_is_counted(head)        ? "water"
                                                : "weight";
}

/* ---- each row ---- */

/* A gauge may have rows of its own: what flows is driven by the last pressure that was logged. */
static void divide(const double *flow, latest *rows) {
    double pressure = NAN;
    for (size_t i = 0; rows->conductance != NULL && i < rows->n; i++) {
        pressure = isnan(rows->pressure[i]) ? pressure : rows->pressure[i];
        rows->conductance[i] = pressure > 0 ? flow[i] / pressure : NAN;
    }
}

static shot_status latest_of(const shot_table *shot, const watch_state *self, latest *out) {
    const double *t = shot->rows.column[0], *flow = shot_table_column(shot, "flow");
    const bool counted = shot_water_is_counted(&shot->head);
    const double *weight = shot_table_column(shot, counted ? "water" : "weight");
    size_t n = shot->rows.rows, first = n - 1;
    while (first > 0 && t[first - 1] >= t[n - 1] - shown)
        first--;
    bool drips = counted || (weight != NULL && self->wet && t[n - 1] > self->drips + building);
    *out = (latest){.t = t + first,
                    .pressure = shot_table_column(shot, "pressure") + first,
                    .weight = drips ? weight + first : NULL,
                    .n = n - first,
                    .end = t[n - 1]};
    if (flow == NULL)
        return SHOT_OK;
    out->conductance = malloc(out->n * sizeof *out->conductance);
    divide(flow + first, out);
    return out->conductance != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* Has flow over pressure risen against what it was, with pressure held? */
static shot_status stands_out(const shot_table *shot, const watch_state *self, bool *out) {
    latest rows;
    SHOT_TRY(latest_of(shot, self, &rows));
    *out = is_held(&rows) && ((rows.conductance != NULL && flow_rose(&rows)) ||
                              (rows.weight != NULL && weight_rose(&rows)));
    free(rows.conductance);
    return SHOT_OK;
}

static bool is_due(const watch_state *self, double end) {
    return !(self->begun && end < self->looked + glance) &&
           !(self->told > 0 && end < self->told + quiet);
}

static shot_status look(void *state, const shot_table *shot, const void *values,
                        shot_findings *found, shot_error *error) {
    watch_state *self = state;
    const struct surges_settings *settings = values;
    const double *weight = shot_table_column(shot, "weight");
    size_t n = shot->rows.rows;
    double end = shot->rows.column[0][n - 1], onset = NAN;
    surge *one = NULL;
    size_t count = 0;
    bool worth_it;
    if (weight != NULL)
        weigh(self, end, weight[n - 1]);
    if (shot_table_column(shot, "pressure") == NULL || !is_due(self, end))
        return SHOT_OK;
    self->looked = end;
    self->begun = true;
    SHOT_TRY(stands_out(shot, self, &worth_it));
    if (worth_it)
        SHOT_TRY(test_last(self, shot, lenient * settings->alarm_rate / 100, &one, &count));
    if (count > 0)
        onset = one[0].from;
    free(one);
    if (isnan(onset))
        return SHOT_OK;
    self->told = end;
    return tell(onset, seen_in(&shot->head), found);
}

const shot_watch surge_watch = {.size = sizeof(watch_state), .look = look, .apart = 1.5};
