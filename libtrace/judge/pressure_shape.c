/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape of the pressure during a brew: a line against two levels. */
#include "judge/pressure_shape.h"

#include <math.h>
#include <stdlib.h>

/* A change that a needle shows and a tongue may taste; common practice, no source. */
static const double least_change = 0.3; /* bar */

/* A machine takes this long from one level to the next: half of it on either side tells nothing of
 * the levels. */
static const double passage = 1.5; /* s */

/* Running sums of the samples of the brew, so that the scatter about the mean of any stretch costs
 * nothing. */
typedef struct sums {
    double *time, *sum, *squares; /* [n], [n + 1], [n + 1]; one piece of memory */
    size_t n;
} sums;

static shot_status sum_up(const shot_view *view, double centre, sums *out) {
    const double *pressure = shot_table_column(view->shot, "pressure");
    *out = (sums){.time = malloc((3 * view->rows + 2) * sizeof(double))};
    if (out->time == NULL)
        return SHOT_ERR_MEMORY;
    out->sum = out->time + view->rows;
    out->squares = out->sum + view->rows + 1;
    out->sum[0] = out->squares[0] = 0;
    for (size_t i = 0; i < view->rows; i++) {
        if (view->time[i] < view->brew_from || view->time[i] > view->brew_to || isnan(pressure[i]))
            continue;
        double value = pressure[i] - centre;
        size_t n = out->n++;
        out->time[n] = view->time[i];
        out->sum[n + 1] = out->sum[n] + value;
        out->squares[n + 1] = out->squares[n] + value * value;
    }
    return SHOT_OK;
}

static double mean_of(const sums *s, size_t from, size_t to) {
    return (s->sum[to] - s->sum[from]) / (double)(to - from);
}

static double scatter_of(const sums *s, size_t from, size_t to) {
    double sum = s->sum[to] - s->sum[from];
    return s->squares[to] - s->squares[from] - sum * sum / (double)(to - from);
}

/* The two levels that leave the least scatter: the step between them, when, and the standard
 * deviation about them; NaN if no stretch is long enough. */
static double best_step(const sums *s, double *step, double *at) {
    double best = INFINITY;
    size_t before = 0, after = 0;
    for (size_t i = 0; i < s->n; i++) {
        while (s->time[before] < s->time[i] - passage / 2)
            before++;
        while (after < s->n && s->time[after] <= s->time[i] + passage / 2)
            after++;
        if (before < 3 || s->n - after < 3 || s->time[before - 1] - s->time[0] < 2 * passage ||
            s->time[s->n - 1] - s->time[after] < 2 * passage)
            continue;
        double left = scatter_of(s, 0, before) + scatter_of(s, after, s->n);
        double variance = left / (double)(before + (s->n - after) - 3);
        if (variance < best) {
            best = variance;
            *step = mean_of(s, after, s->n) - mean_of(s, 0, before);
            *at = s->time[i];
        }
    }
    return isfinite(best) ? sqrt(fmax(best, 0)) : NAN;
}

shot_status shot_pressure_shape(const shot_view *view, const shot_straight_line *line,
                                pressure_shape *out) {
    sums s;
    double step = NAN, at = NAN, change = line->slope * (view->brew_to - view->brew_from);
    *out = (pressure_shape){.words = NULL, .step = NAN, .at = NAN};
    SHOT_TRY(sum_up(view, line->level, &s));
    double sd = best_step(&s, &step, &at);
    free(s.time);
    if (sd < 0.7 * line->sd && fabs(step) > fmax(least_change, 3 * sd)) {
        *out = (pressure_shape){step < 0 ? "stepped down" : "stepped up", step, at};
    } else if (fabs(change) < least_change) {
        out->words = "held";
    } else if (fabs(line->slope) >
               shot_straight_line_half_width(line, line->slope_se, SHOT_MEASURE_LEVEL)) {
        out->words = change < 0 ? "falling evenly, as a spring's does" : "rising evenly";
    }
    return SHOT_OK;
}
