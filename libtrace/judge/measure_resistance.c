/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of flow and of hydraulic resistance, R = p / Q: mean pressure over mean flow in windows
 * of 2 s, since the quotient of two noisy samples has no mean.  Without a flow meter the flow is
 * the slope of the weight over the density of water; a flow that is the beverage's stands for that
 * of the water once drops fall. */
#include "judge/measure_parts.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/puck/water.h>

static const double window = 2; /* s */

/* Under this flow the quotient says more about the meter than about the puck. */
static const double least_flow = 0.05; /* ml/s; common practice, no source */

typedef struct resistance {
    double value, half; /* of its interval */
    double slope;       /* its change a second, as far as the meters tell it */
    bool from_weight;
} resistance;

/* Is what runs into the cup no measure yet of what runs through the puck?  Before drops fall, of a
 * log that calls it flow or has the scale alone; and behind the first drop, until the stream stands
 * (one window: common practice, no source). */
static bool is_dry(const shot_view *view, double from) {
    const shot_mark *drip = shot_mark_list_last(&view->shot->marks, "first-drip");
    const bool scale_alone = shot_table_column(view->shot, "flow") == NULL;
    if (drip == NULL)
        return view->beverage_flow;
    return (view->beverage_flow || scale_alone) &&
           from < fmax(drip->from, drip->from_high) + window;
}

/* Flow in ml/s with its standard error: from the meter, or from the scale. */
static bool flow_of(const shot_view *view, double from, double to, shot_straight_line *line,
                    double *flow, double *se) {
    if (is_dry(view, from))
        return false;
    if (shot_view_line(view, "flow", from, to, line) == SHOT_OK) {
        *flow = line->level;
        *se = line->level_se;
        return true;
    }
    if (shot_view_line(view, "weight", from, to, line) != SHOT_OK)
        return false;
    double density = shot_water_density(93) / 1000; /* g/ml */
    *flow = line->slope / density;
    *se = line->slope_se / density;
    return true;
}

/* The quotient of two independent means; its relative errors add in quadrature. */
static bool resistance_of(const shot_view *view, double from, double to, resistance *out) {
    shot_straight_line pressure, line;
    double flow, flow_se;
    if (shot_view_line(view, "pressure", from, to, &pressure) != SHOT_OK ||
        !flow_of(view, from, to, &line, &flow, &flow_se) || !(flow > least_flow))
        return false;
    out->value = pressure.level / flow;
    out->from_weight = shot_table_column(view->shot, "flow") == NULL;
    double relative = hypot(pressure.level_se / pressure.level, flow_se / flow);
    out->half =
        shot_straight_line_half_width(&line, fabs(out->value) * relative, SHOT_MEASURE_LEVEL);
    out->slope = pressure.slope / flow;
    if (!out->from_weight)
        out->slope -= out->value * line.slope / flow;
    return true;
}

/* Resistance beside an end of the brew, which has an interval of its own. */
static shot_status add_resistance(shot_measure_list *out, const char *name, const resistance *one,
                                  const shot_dated *end) {
    shot_arms arms = shot_arms_of(one->half);
    shot_arms_add(&arms, end, one->slope);
    return shot_measure_add_arms(name, one->value, &arms,
                                 one->from_weight ? "flow from the scale, water at 93 degC" : NULL,
                                 out);
}

static shot_status add_resistances(const shot_view *view, shot_measure_list *out) {
    resistance one, least = {.value = INFINITY};
    double from = view->brew_start.at, to = view->brew_end.at;
    if (!(to - from >= window))
        return SHOT_OK;
    if (resistance_of(view, from, from + window, &one))
        SHOT_TRY(add_resistance(out, "resistance.start", &one, &view->brew_start));
    for (double at = from; at + window <= to; at += window / 4)
        if (resistance_of(view, at, at + window, &one) && one.value < least.value)
            least = one;
    /* the least of many estimates is biased low: its interval would not cover */
    if (isfinite(least.value))
        SHOT_TRY(shot_measure_list_add(out, "resistance.least", least.value, NAN, NAN,
                                       "least of overlapping windows, biased low by noise"));
    if (resistance_of(view, to - window, to, &one))
        SHOT_TRY(add_resistance(out, "resistance.end", &one, &view->brew_end));
    return SHOT_OK;
}

/* The logarithm of resistance in windows that do not overlap, from the start of a stretch of the
 * brew between surges.  Times and logarithms count from their means in the stretch: what a surge
 * takes at once is then no part of the slope, which is that of parallel lines (Frisch & Waugh 1933,
 * Econometrica 1:387-401). */
static size_t add_stretch(const shot_view *view, double from, double to, double *times,
                          double *logs) {
    double mean_time = 0, mean_log = 0;
    size_t n = 0;
    resistance one;
    for (size_t i = 0; from + (double)(i + 1) * window <= to; i++) {
        const double at = from + (double)i * window;
        if (!resistance_of(view, at, at + window, &one) || !(one.value > 0))
            continue;
        times[n] = at + window / 2;
        logs[n++] = log(one.value);
        mean_time += (times[n - 1] - mean_time) / (double)n;
        mean_log += (logs[n - 1] - mean_log) / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        times[i] -= mean_time;
        logs[i] -= mean_log;
    }
    return n;
}

/* A surge begins as early as it may and ends where its mark does. */
static size_t add_stretches(const shot_view *view, double *times, double *logs, size_t *stretches) {
    double from = view->brew_start.at;
    size_t n = 0;
    *stretches = 0;
    for (const shot_mark *one = NULL;; from = fmax(fmax(from, one->from), one->to)) {
        one = counted_marks_next(&view->marks, "surge", one);
        const double opens = one == NULL               ? view->brew_end.at
                             : isfinite(one->from_low) ? one->from_low
                                                       : one->from;
        const double to = fmin(opens, view->brew_end.at);
        const size_t more = add_stretch(view, from, to, times + n, logs + n);
        *stretches += more > 0;
        n += more;
        if (one == NULL)
            return n;
    }
}

/* The slope of the line through them is the relative change a second, beside the surges.  Fewer
 * than five windows, or as few beside the means of stretches, say too little about their own
 * scatter. */
static shot_status add_trend(const shot_view *view, shot_measure_list *out) {
    double from = view->brew_start.at, to = view->brew_end.at;
    size_t most =
        to - from >= 5 * window && isfinite(to - from) ? (size_t)((to - from) / window) : 0;
    if (most < 5)
        return SHOT_OK;
    double *times = malloc(2 * most * sizeof *times);
    if (times == NULL)
        return SHOT_ERR_MEMORY;
    double *logs = times + most;
    size_t stretches;
    const size_t n = add_stretches(view, times, logs, &stretches);
    shot_straight_line line;
    shot_status status = SHOT_OK;
    if (n >= 4 + stretches &&
        shot_straight_line_fit(times, logs, n, -INFINITY, INFINITY, &line) == SHOT_OK) {
        /* each further stretch took a degree of freedom with its mean */
        const double taken = (double)(stretches - 1);
        line.freedom = fmax(1, line.freedom - taken);
        line.slope_se *= sqrt((double)(n - 2) / ((double)(n - 2) - taken));
        const double half = shot_straight_line_half_width(&line, line.slope_se, SHOT_MEASURE_LEVEL);
        status = shot_measure_list_add(out, "resistance.trend", 100 * line.slope,
                                       100 * (line.slope - half), 100 * (line.slope + half), NULL);
    }
    free(times);
    return status;
}

/* The weight at an end of the brew: the line through the nearest samples in it, carried to its
 * end. */
typedef struct end_weight {
    double value, half, slope;
} end_weight;

static bool weight_at(const shot_view *view, double end, double inwards, end_weight *out) {
    shot_straight_line line;
    for (double reach = 1; reach <= 4; reach *= 2) {
        double other = end + inwards * reach;
        if (shot_view_line(view, "weight", fmin(end, other), fmax(end, other), &line) != SHOT_OK)
            continue;
        double away = end - line.centre;
        const double se = hypot(line.level_se, line.slope_se * away);
        *out =
            (end_weight){line.level + line.slope * away,
                         shot_straight_line_half_width(&line, se, SHOT_MEASURE_LEVEL), line.slope};
        return true;
    }
    return false;
}

/* What the scale gained from end to end, as far as it lags behind the brew.  An end that lies
 * elsewhere takes in more or less of it: d rate / d end = +-(slope there - rate) / length. */
static shot_status add_outflow(const shot_view *view, shot_measure_list *out) {
    double lag;
    end_weight before, after;
    SHOT_TRY(shot_head_quantity(&view->shot->head, "scale.lag", "s", &lag));
    lag = isnan(lag) ? 0 : lag;
    double length = view->brew_end.at - view->brew_start.at;
    if (!(length > 0) || !weight_at(view, view->brew_start.at + lag, 1, &before) ||
        !weight_at(view, view->brew_end.at + lag, -1, &after))
        return SHOT_OK;
    const double rate = (after.value - before.value) / length;
    shot_arms arms = shot_arms_of(hypot(before.half, after.half) / length);
    shot_arms_add(&arms, &view->brew_start, (rate - before.slope) / length);
    shot_arms_add(&arms, &view->brew_end, (after.slope - rate) / length);
    return shot_measure_add_arms("brew.outflow", rate, &arms, NULL, out);
}

shot_status shot_measure_resistance(const shot_view *view, shot_measure_list *out) {
    shot_straight_line line;
    double from = view->brew_start.at, to = view->brew_end.at;
    if (!view->beverage_flow && shot_view_line(view, "flow", from, to, &line) == SHOT_OK) {
        const double half =
            hypot(shot_straight_line_half_width(&line, line.slope_se, SHOT_MEASURE_LEVEL),
                  2 * shot_view_rounding(view, "flow", &line, to - from) / (to - from));
        SHOT_TRY(shot_measure_add_level(view, "flow", from, to, "brew.flow", out));
        SHOT_TRY(shot_measure_list_add(out, "brew.flow.slope", line.slope, line.slope - half,
                                       line.slope + half, NULL));
    }
    SHOT_TRY(add_outflow(view, out));
    SHOT_TRY(add_resistances(view, out));
    return add_trend(view, out);
}
