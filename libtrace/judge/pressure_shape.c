/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape of the pressure during a brew: a straight line against two levels and a bent line. */
#include "judge/pressure_shape.h"

#include <math.h>
#include <stdlib.h>

/* A change that a needle shows and a tongue may taste; common practice, no source. */
static const double least_change = 0.3; /* bar */

/* A machine takes this long from one level to the next: half of it on either side tells nothing of
 * the levels. */
static const double passage = 1.5; /* s */

/* A spring gives way by more than this share of its pressure over a brew; less is a small fall.
 * Common practice, no source. */
static const double spring_share = 0.1;

/* Running sums of the samples of the brew, so that the scatter of any stretch about its mean, and
 * of the whole about a bent line, costs nothing.  Times count from the first sample, pressures from
 * `centre`. */
typedef struct sums {
    double *time;                         /* [n] */
    double *sum, *squares;                /* of pressure, [n + 1] */
    double *times, *time_squares, *cross; /* of time, and of time and pressure, [n + 1] */
    size_t n;
    double first; /* the clock at the first sample */
} sums;

enum { COLUMNS = 6 }; /* one piece of memory */

static void add_sample(sums *s, double time, double value) {
    const size_t n = s->n++;
    s->first = n == 0 ? time : s->first;
    const double t = time - s->first;
    s->time[n] = t;
    s->sum[n + 1] = s->sum[n] + value;
    s->squares[n + 1] = s->squares[n] + value * value;
    s->times[n + 1] = s->times[n] + t;
    s->time_squares[n + 1] = s->time_squares[n] + t * t;
    s->cross[n + 1] = s->cross[n] + t * value;
}

static shot_status sum_up(const shot_view *view, double centre, sums *out) {
    const double *pressure = shot_table_column(view->shot, "pressure");
    const size_t room = view->rows + 1;
    *out = (sums){.time = calloc(COLUMNS * room, sizeof(double))};
    if (out->time == NULL)
        return SHOT_ERR_MEMORY;
    out->sum = out->time + room;
    out->squares = out->sum + room;
    out->times = out->squares + room;
    out->time_squares = out->times + room;
    out->cross = out->time_squares + room;
    for (size_t i = 0; i < view->rows; i++)
        if (view->time[i] >= view->brew_start.at && view->time[i] <= view->brew_end.at &&
            !isnan(pressure[i]))
            add_sample(out, view->time[i], pressure[i] - centre);
    return SHOT_OK;
}

static double mean_of(const sums *s, size_t from, size_t to) {
    return (s->sum[to] - s->sum[from]) / (double)(to - from);
}

static double scatter_of(const sums *s, size_t from, size_t to) {
    double sum = s->sum[to] - s->sum[from];
    return s->squares[to] - s->squares[from] - sum * sum / (double)(to - from);
}

/* A description of the brew in two parts: how well it fits, and what it says. */
typedef struct two_parts {
    double sd, change, at; /* standard deviation about it; bar; s from the first sample */
    bool held_first;       /* of a bent line */
} two_parts;

static const two_parts no_parts = {.sd = INFINITY, .change = NAN, .at = NAN};

/* When the pressure goes over from one level to another, among samples from..to: where the change
 * from the one to the other at an instant leaves the least scatter about them (Hinkley 1970,
 * Biometrika 57:1-17).  [s from the first sample] */
static double crossing(const sums *s, size_t from, size_t to, double level, double next) {
    double sum = 0, most = -INFINITY;
    size_t best = from;
    for (size_t i = from; i <= to; i++) {
        if (sum > most) {
            most = sum;
            best = i;
        }
        const double y = s->sum[i + 1] - s->sum[i];
        sum += (y - (level + next) / 2) * (level - next);
    }
    return (s->time[best - 1] + s->time[best]) / 2;
}

/* The two levels that leave the least scatter, what lies between them left out. */
static two_parts best_step(const sums *s) {
    two_parts best = no_parts;
    size_t before = 0, after = 0, from = 0, to = 0;
    for (size_t i = 0; i < s->n; i++) {
        while (s->time[before] < s->time[i] - passage / 2)
            before++;
        while (after < s->n && s->time[after] <= s->time[i] + passage / 2)
            after++;
        if (before < 3 || s->n - after < 3 || s->time[before - 1] - s->time[0] < 2 * passage ||
            s->time[s->n - 1] - s->time[after] < 2 * passage)
            continue;
        double left = scatter_of(s, 0, before) + scatter_of(s, after, s->n);
        double sd = sqrt(fmax(left / (double)(before + (s->n - after) - 3), 0));
        if (sd < best.sd) {
            best.sd = sd;
            from = before;
            to = after;
        }
    }
    if (from > 0) {
        const double level = mean_of(s, 0, from), next = mean_of(s, to, s->n);
        best.change = next - level;
        best.at = crossing(s, from, to, level, next);
    }
    return best;
}

/* The line that is level on one side of sample i and changes evenly on the other, from..to: least
 * squares of pressure on u = time - knot there, and 0 elsewhere. */
static two_parts bent_at(const sums *s, size_t i, size_t from, size_t to) {
    const double knot = s->time[i], count = (double)(to - from), all = (double)s->n;
    const double times = s->times[to] - s->times[from];
    const double u = times - knot * count;
    const double uu = s->time_squares[to] - s->time_squares[from] - 2 * knot * times +
                      knot * knot * count - u * u / all;
    const double up =
        s->cross[to] - s->cross[from] - knot * (s->sum[to] - s->sum[from]) - u * s->sum[s->n] / all;
    const double slope = up / uu, left = scatter_of(s, 0, s->n) - slope * up;
    const double length = from == i ? s->time[s->n - 1] - knot : knot;
    return (two_parts){sqrt(fmax(left / (all - 3), 0)), slope * length, knot, from == i};
}

/* The bent line that leaves the least scatter, with both parts long enough to be seen. */
static two_parts best_bend(const sums *s) {
    two_parts best = no_parts;
    for (size_t i = 3; i + 3 < s->n; i++) {
        if (s->time[i] < 2 * passage || s->time[s->n - 1] - s->time[i] < 2 * passage)
            continue;
        const two_parts then = bent_at(s, i, i, s->n), before = bent_at(s, i, 0, i);
        best = then.sd < best.sd ? then : best;
        best = before.sd < best.sd ? before : best;
    }
    return best;
}

/* Better than the straight line, and by more than the scatter about it. */
static bool stands_out(const two_parts *parts, const shot_straight_line *line) {
    return parts->sd < 0.7 * line->sd && fabs(parts->change) > fmax(least_change, 3 * parts->sd);
}

static const char *words_of_bend(const two_parts *bend) {
    if (bend->held_first)
        return bend->change < 0 ? "held, then falling evenly" : "held, then rising evenly";
    return bend->change < 0 ? "falling evenly, then held" : "rising evenly, then held";
}

static const char *words_of_line(const shot_view *view, const shot_straight_line *line) {
    const double change = line->slope * (view->brew_end.at - view->brew_start.at);
    if (fabs(change) < least_change)
        return "held";
    if (fabs(line->slope) <=
        shot_straight_line_half_width(line, line->slope_se, SHOT_MEASURE_LEVEL))
        return NULL;
    if (fabs(change) < spring_share * fabs(line->level))
        return change < 0 ? "falling slightly" : "rising slightly";
    return change < 0 ? "falling evenly" : "rising evenly";
}

shot_status shot_pressure_shape(const shot_view *view, const shot_straight_line *line,
                                pressure_shape *out) {
    sums s;
    *out = (pressure_shape){NULL, NAN, NAN, NAN, NAN};
    SHOT_TRY(sum_up(view, line->level, &s));
    const two_parts step = best_step(&s), bend = best_bend(&s);
    free(s.time);
    if (stands_out(&step, line) && step.sd <= bend.sd) {
        out->words = step.change < 0 ? "stepped down" : "stepped up";
        out->step = step.change;
        out->step_at = s.first + step.at;
    } else if (stands_out(&bend, line)) {
        out->words = words_of_bend(&bend);
        out->bend = bend.change;
        out->bend_at = s.first + bend.at;
    } else {
        out->words = words_of_line(view, line);
    }
    return SHOT_OK;
}
