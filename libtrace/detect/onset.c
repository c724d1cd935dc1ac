/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The instant at which a channel leaves a level. */
#include "detect/onset.h"

#include <math.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/segmented_line.h>
#include <shottrace/signal/straight_line.h>

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

double shot_view_mean(const shot_channel_view *view, double from, double to) {
    double sum = 0, n = 0;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++)
        sum += view->y[i], n++;
    return n > 0 ? sum / n : NAN;
}

static shot_instant around(const shot_channel_view *view, double guess) {
    double spacing = view->noise.spacing;
    return (shot_instant){guess, guess - spacing, guess + spacing};
}

shot_instant shot_onset_break(const shot_channel_view *view, double from, double to, double guess) {
    size_t begin = shot_view_first(view, from),
           end = shot_view_first(view, nextafter(to, INFINITY));
    shot_segmented_line_options options = {.sd = fmax(view->noise.sd, 1e-9),
                                           .corr = view->noise.correlation,
                                           .z = shot_normal_quantile(0.975)};
    shot_segmented_line *line;
    if (end - begin < 6 || shot_segmented_line_fit(view->t + begin, view->y + begin, end - begin,
                                                   NULL, 1, &options, &line) != SHOT_OK)
        return around(view, guess);
    shot_instant found = {line->breaks[0].at, line->breaks[0].low, line->breaks[0].high};
    shot_segmented_line_free(line);
    /* A bend within one sampling interval is placed by the lines on either side; that the world
     * is no broken line shows within about a quarter of that interval. */
    double least = view->noise.spacing / 4;
    found.low = fmin(found.low, found.at - least);
    found.high = fmax(found.high, found.at + least);
    return found;
}

/* The line through the samples around sample i (two or more on either side) crosses there. */
static shot_instant refine_crossing(const shot_channel_view *view, size_t i, double level) {
    double half = fmax(2.01 * view->noise.spacing, 0.15);
    double middle = i > 0 ? (view->t[i] + view->t[i - 1]) / 2 : view->t[i];
    shot_straight_line line;
    if (shot_straight_line_fit(view->t, view->y, view->n, middle - half, middle + half, &line) !=
            SHOT_OK ||
        line.slope == 0)
        return around(view, view->t[i]);
    double at = line.centre + (level - line.level) / line.slope;
    double far = at - line.centre;
    double se = hypot(line.level_se, line.slope_se * far) / fabs(line.slope);
    double wide = shot_straight_line_half_width(&line, se, 0.95);
    if (!(fabs(at - middle) <= half))
        return around(view, view->t[i]);
    wide = fmax(wide, view->noise.spacing / 4);
    return (shot_instant){at, at - wide, at + wide};
}

shot_instant shot_onset_crossing(const shot_channel_view *view, double from, double to,
                                 double level, int sign, double hold) {
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++) {
        if (sign * (view->y[i] - level) < 0)
            continue;
        double mean = shot_view_mean(view, view->t[i], view->t[i] + hold);
        if (sign * (mean - level) >= 0)
            return refine_crossing(view, i, level);
    }
    return (shot_instant){NAN, NAN, NAN};
}
