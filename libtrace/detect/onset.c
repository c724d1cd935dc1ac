/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The instant at which a channel leaves a level. */
#include "detect/onset.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/segmented_line.h>
#include <shottrace/signal/straight_line.h>

#include "lack_of_memory.h"

double shot_view_mean(const shot_channel_view *view, double from, double to) {
    double sum = 0, n = 0;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++)
        sum += view->y[i], n++;
    return n > 0 ? sum / n : NAN;
}

static double width(const shot_instant *one) {
    return fmax(one->high - one->low, 1e-3);
}

shot_instant shot_instant_of_both(const shot_instant *a, const shot_instant *b) {
    if (isnan(a->at) || isnan(b->at))
        return isnan(a->at) ? *b : *a;
    if (fabs(a->at - b->at) > (width(a) + width(b)) / 2)
        return a->at < b->at ? *a : *b;
    double u = 1 / (width(a) * width(a)), v = 1 / (width(b) * width(b));
    double at = (u * a->at + v * b->at) / (u + v), half = fmin(width(a), width(b)) / 2;
    return (shot_instant){at, at - half, at + half};
}

shot_instant shot_instant_widened(shot_instant one, double by) {
    return (shot_instant){one.at, one.low - by, one.high + by};
}

shot_instant shot_instant_shown_late(shot_instant one, double lag) {
    static const double hoses = 0.08; /* s late */
    if (isnan(lag))
        return (shot_instant){one.at, one.at - hypot(one.at - one.low, hoses), one.high};
    return (shot_instant){one.at - lag, one.low - lag, one.high - lag};
}

shot_instant shot_instant_not_before(shot_instant one, double time) {
    const double at = one.at < time ? time : one.at; /* what is not known stays so */
    return (shot_instant){at, one.low, one.high < at ? at : one.high};
}

shot_instant shot_instant_not_after(shot_instant one, double time) {
    const double at = one.at > time ? time : one.at;
    return (shot_instant){at, one.low > at ? at : one.low, one.high};
}

double shot_edge_slack(const shot_channel_view *view) {
    return hypot(0.01, view->noise.spacing / 2);
}

shot_status shot_view_copy(const shot_channel_view *view, shot_channel_view *out) {
    *out = *view;
    out->t = malloc((view->n + 1) * sizeof *out->t);
    out->y = malloc((view->n + 1) * sizeof *out->y);
    if (out->t == NULL || out->y == NULL) {
        shot_channel_view_free(out);
        return SHOT_ERR_MEMORY;
    }
    if (view->n > 0) {
        memcpy(out->t, view->t, view->n * sizeof *out->t);
        memcpy(out->y, view->y, view->n * sizeof *out->y);
    }
    return SHOT_OK;
}

shot_status shot_view_smooth(const shot_channel_view *view, double half, shot_channel_view *out) {
    SHOT_TRY(shot_view_copy(view, out));
    size_t first = 0, end = 0;
    for (size_t i = 0; i < view->n; i++) {
        double sum = 0;
        while (view->t[first] < view->t[i] - half)
            first++;
        while (end < view->n && view->t[end] <= view->t[i] + half)
            end++;
        for (size_t k = first; k < end; k++)
            sum += view->y[k];
        out->y[i] = sum / (double)(end - first);
    }
    return SHOT_OK;
}

static shot_instant around(const shot_channel_view *view, double guess) {
    double spacing = view->noise.spacing;
    return (shot_instant){guess, guess - spacing, guess + spacing};
}

shot_status shot_onset_break(const shot_channel_view *view, double from, double to, double guess,
                             shot_instant *out) {
    size_t begin = shot_view_first(view, from),
           end = shot_view_first(view, nextafter(to, INFINITY));
    shot_segmented_line_options options = {.sd = fmax(view->noise.sd, 1e-9),
                                           .corr = view->noise.correlation,
                                           .z = shot_normal_quantile(0.975)};
    shot_segmented_line *line;
    *out = around(view, guess);
    if (end - begin < 6)
        return SHOT_OK;
    const shot_status status = shot_segmented_line_fit(view->t + begin, view->y + begin,
                                                       end - begin, NULL, 1, &options, &line);
    if (status != SHOT_OK)
        return lack_of_memory_only(status);
    *out = (shot_instant){line->breaks[0].at, line->breaks[0].low, line->breaks[0].high};
    shot_segmented_line_free(line);
    /* A bend within one sampling interval is placed by the lines on either side; that the world
     * is no broken line shows within about a quarter of that interval. */
    double least = view->noise.spacing / 4;
    out->low = fmin(out->low, out->at - least);
    out->high = fmax(out->high, out->at + least);
    return SHOT_OK;
}

/* ---- a fall ---- */

static double slope_of(const shot_channel_view *view, size_t begin, size_t end) {
    shot_straight_line line;
    if (end < begin + 3 ||
        shot_straight_line_fit(view->t + begin, view->y + begin, end - begin, view->t[begin],
                               view->t[end - 1], &line) != SHOT_OK)
        return NAN;
    return line.slope;
}

/* The change of slope at sample i: of the lines over some seconds on either side, or over three
 * samples where some are missing. */
static double slope_change(const shot_channel_view *view, size_t i, double before, double after) {
    size_t first = shot_view_first(view, view->t[i] - before);
    size_t end = shot_view_first(view, nextafter(view->t[i] + after, INFINITY));
    first = i >= 2 && first > i - 2 ? i - 2 : first;
    end = end < i + 3 && i + 3 <= view->n ? i + 3 : end;
    return slope_of(view, i, end) - slope_of(view, first, i + 1);
}

double shot_onset_steepest_break(const shot_channel_view *view, double from, double to) {
    double best = NAN, least = INFINITY, spacing = view->noise.spacing;
    double before = fmax(1.5, 3.5 * spacing), after = fmax(1, 2.5 * spacing);
    double next = from;
    const double until =
        fmin(to, view->t[view->n - 1] - after / 2); /* a few samples have any slope */
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= until; i++) {
        if (view->t[i] < next)
            continue;
        next = view->t[i] + 0.02; /* at 1 kHz not every sample need be tried */
        double change = slope_change(view, i, before, after);
        if (change < least) {
            least = change;
            best = view->t[i];
        }
    }
    return best;
}

/* ---- crossings ---- */

static const double ripples = 0.15; /* s, a few strokes of a pump */

/* Does sample i lie clear of the level, as far as noise and rounding let tell? */
static bool is_clear(const shot_channel_view *view, size_t i, double level) {
    return fabs(view->y[i] - level) > fmax(3 * view->noise.sd, view->step / 2);
}

/* Between samples i - 1 and i; where one of them is not clear of the level, it may have been
 * crossed a sample before or after. */
static shot_instant within_step(const shot_channel_view *view, size_t i, double level) {
    const double *t = view->t, *y = view->y;
    const double at = t[i - 1] + (level - y[i - 1]) / (y[i] - y[i - 1]) * (t[i] - t[i - 1]);
    const size_t low = i > 1 && !is_clear(view, i - 1, level) ? i - 2 : i - 1;
    const size_t high = i + 1 < view->n && !is_clear(view, i, level) ? i + 1 : i;
    return (shot_instant){at, t[low], t[high]};
}

static bool is_off(const shot_channel_view *view, size_t i, const shot_straight_line *line) {
    const double fitted = line->level + line->slope * (view->t[i] - line->centre);
    return fabs(view->y[i] - fitted) > 3 * view->noise.sd;
}

/* Where the line through the samples within `half` of `middle` crosses the level; NaN where it does
 * so elsewhere. */
static shot_instant line_crossing(const shot_channel_view *view, const shot_straight_line *line,
                                  double middle, double half, double level) {
    const double at = line->centre + (level - line->level) / line->slope;
    const double se = hypot(line->level_se, line->slope_se * (at - line->centre));
    const double wide = shot_straight_line_half_width(line, se / fabs(line->slope), 0.95);
    if (!(fabs(at - middle) <= half))
        return (shot_instant){NAN, NAN, NAN};
    return shot_instant_widened((shot_instant){at, at, at}, fmax(wide, view->noise.spacing / 4));
}

/* The crossing again by the samples around it: of many samples on a slow way up the first that
 * noise lifts over the level comes early, and a line through what lies before a bend meets the
 * level too early as well. */
static shot_instant centred(const shot_channel_view *view, shot_instant found, double half,
                            double level) {
    shot_straight_line line;
    double middle = half < 4 * view->noise.spacing ? found.at : NAN;
    for (int round = 0; round < 4 && !(fabs(found.at - middle) < view->noise.spacing / 2);
         round++) {
        middle = found.at;
        if (shot_straight_line_fit(view->t, view->y, view->n, middle - half, middle + half,
                                   &line) != SHOT_OK)
            return found;
        const shot_instant next = line_crossing(view, &line, middle, half, level);
        if (isnan(next.at))
            return found;
        found = next;
    }
    return found;
}

/* Do the samples before and behind i - 1 and i, which lie on either side of the level, not lie
 * where those do?  Then a ripple of the pump, and no step, takes them over it. */
static bool returns(const shot_channel_view *view, size_t i, double level) {
    const double *y = view->y, sign = y[i] - level;
    return i >= 2 && i + 1 < view->n && view->t[i + 1] - view->t[i - 2] < ripples &&
           ((y[i - 2] - level) * sign > 0 || (y[i + 1] - level) * sign < 0);
}

/* The line through the samples around sample i (two or more on either side) crosses there; but
 * where samples i - 1 and i, on either side of the level, lie off that line, the channel goes
 * faster than its samples come, and all that is known is that it crosses between them. */
static shot_instant refine_crossing(const shot_channel_view *view, size_t i, double level) {
    double half = fmax(2.01 * view->noise.spacing, 0.15);
    double middle = i > 0 ? (view->t[i] + view->t[i - 1]) / 2 : view->t[i];
    shot_straight_line line;
    const bool step =
        i > 0 && (view->y[i - 1] - level) * (view->y[i] - level) < 0 && !returns(view, i, level);
    const bool fitted = shot_straight_line_fit(view->t, view->y, view->n, middle - half,
                                               middle + half, &line) == SHOT_OK;
    if (step && (!fitted || (is_clear(view, i - 1, level) && is_clear(view, i, level)) ||
                 is_off(view, i - 1, &line) || is_off(view, i, &line)))
        return within_step(view, i, level);
    const shot_instant found = fitted && line.slope != 0
                                   ? line_crossing(view, &line, middle, half, level)
                                   : (shot_instant){NAN, NAN, NAN};
    return isnan(found.at) ? around(view, view->t[i]) : centred(view, found, half, level);
}

/* The sample on which a crossing shows first; n if there is none. */
static size_t first_beyond(const shot_channel_view *view, double from, double to, double level,
                           int sign, double hold) {
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++) {
        if (sign * (view->y[i] - level) < 0)
            continue;
        double mean = shot_view_mean(view, view->t[i], view->t[i] + hold);
        if (sign * (mean - level) >= 0)
            return i;
    }
    return view->n;
}

shot_instant shot_onset_crossing(const shot_channel_view *view, double from, double to,
                                 double level, int sign, double hold) {
    size_t i = first_beyond(view, from, to, level, sign, hold);
    return i < view->n ? refine_crossing(view, i, level) : (shot_instant){NAN, NAN, NAN};
}
