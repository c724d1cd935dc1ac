/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last seconds of a running shot, looked at as the whole is at its end.
 *
 * Ten times a second a first glance compares the conductance of the last half second with that of
 * the seconds before; what stands out is judged by the same test as in a whole shot, on the last
 * eight seconds alone, so that the cost does not grow with the shot. */
#include "detect/surge_watch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/surge_finder.h"
#include "detect/surge_input.h"

static const double memory = 8;   /* s that are looked at */
static const double glance = 0.1; /* s between glances */
static const double now = 0.5;    /* s: the latest samples */
static const double gap = 0.5;    /* s between those and the ones they are compared with */
static const double worth = 1.04; /* rise of conductance that is worth the test */
static const double clear = 2.5;  /* standard errors */
static const double quiet = 3;    /* s after a mark in which no other is sent */
static const double recent = 1.5; /* s back to which an onset is news */
static const double level = 0.95; /* of intervals, which a provisional mark does not show */
static const double windows = 10; /* that a shot has, about, to share its alarms */

typedef struct watch_state {
    double looked, told; /* s */
    bool begun;
} watch_state;

/* ---- a first glance ---- */

typedef struct sums {
    double n, sum, squares;
} sums;

static void gather(sums *s, double x) {
    s->n++;
    s->sum += x;
    s->squares += x * x;
}

static double mean(const sums *s) {
    return s->sum / s->n;
}

static double variance_of_mean(const sums *s) {
    double m = mean(s);
    return s->n > 2 ? fmax(s->squares / s->n - m * m, 0) / (s->n - 1) : INFINITY;
}

/* Has flow over pressure risen against what it was? */
static bool stands_out(const double *t, const double *pressure, const double *flow, size_t n) {
    sums late = {0}, early = {0};
    double end = t[n - 1];
    for (size_t i = n; i-- > 0 && t[i] >= end - memory / 2;) {
        double g = pressure[i] > 0 ? flow[i] / pressure[i] : NAN;
        if (isnan(g))
            continue;
        if (t[i] > end - now)
            gather(&late, g);
        else if (t[i] < end - now - gap)
            gather(&early, g);
    }
    if (late.n < 2 || early.n < 5 || mean(&late) < worth * mean(&early))
        return false;
    double se = sqrt(variance_of_mean(&early) * (1 + early.n / late.n));
    return mean(&late) - mean(&early) > clear * se;
}

/* ---- the test ---- */

/* The last rows as a shot of their own; columns are borrowed. */
static shot_status last_rows(const shot_table *shot, shot_table *out) {
    const double *t = shot->rows.column[0];
    size_t n = shot->rows.rows, first = n - 1;
    while (first > 0 && t[first - 1] >= t[n - 1] - memory)
        first--;
    *out = *shot;
    out->rows.rows = n - first;
    out->rows.column = malloc(shot->rows.columns * sizeof *out->rows.column);
    if (out->rows.column == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 0; c < shot->rows.columns; c++)
        out->rows.column[c] = shot->rows.column[c] + first;
    return SHOT_OK;
}

/* The onset of a surge in the last rows, NaN without. */
static shot_status test(const shot_phase_input *input, double end, double alarm_rate,
                        double *onset) {
    conductance_data flow = {0}, *channels[] = {&flow};
    surge *found = NULL;
    size_t count = 0;
    shot_status status = surge_input_take(input, &input->flow, 0, false, end - memory, end, &flow);
    if (status == SHOT_OK && flow.n >= 8 && flow.middle > 0)
        status = surges_find(channels, 1, alarm_rate, level, &found, &count);
    for (size_t i = 0; i < count; i++)
        if (found[i].from >= end - recent && found[i].loss_low > 0)
            *onset = found[i].from;
    free(found);
    surge_input_free(&flow);
    return status;
}

static shot_status test_last(const shot_table *shot, double alarm_rate, double *onset,
                             shot_error *error) {
    shot_table last;
    shot_phase_input input;
    SHOT_TRY(last_rows(shot, &last));
    shot_status status = shot_phase_input_take(&last, &input, error);
    if (status == SHOT_OK && input.flow.n >= 8 && input.pressure.n >= 8)
        status = test(&input, last.rows.column[0][last.rows.rows - 1], alarm_rate, onset);
    shot_phase_input_free(&input);
    free(last.rows.column);
    return status;
}

static shot_status tell(double onset, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"surge";
    mark.from = onset;
    mark.channel = (char *)"flow";
    return shot_findings_add(found, &mark);
}

static shot_status look(void *state, const shot_table *shot, const void *values,
                        shot_findings *found, shot_error *error) {
    watch_state *self = state;
    const struct surges_settings *settings = values;
    const double *t = shot->rows.column[0], *pressure = shot_table_column(shot, "pressure");
    const double *flow = shot_table_column(shot, "flow");
    size_t n = shot->rows.rows;
    double end = t[n - 1], onset = NAN;
    if (pressure == NULL || flow == NULL || (self->begun && end < self->looked + glance) ||
        (self->told > 0 && end < self->told + quiet))
        return SHOT_OK;
    self->looked = end;
    self->begun = true;
    if (!stands_out(t, pressure, flow, n))
        return SHOT_OK;
    SHOT_TRY(test_last(shot, settings->alarm_rate / 100 / windows, &onset, error));
    if (isnan(onset))
        return SHOT_OK;
    self->told = end;
    return tell(onset, found);
}

const shot_watch surge_watch = {.size = sizeof(watch_state), .look = look, .apart = 1.5};
