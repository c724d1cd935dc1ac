/* SPDX-License-Identifier: GPL-3.0-or-later */
/* By how much a flow meter follows the flow late. */
#include "detect/meter_lag.h"

#include <math.h>

static const double longest = 1; /* s: gates of more are of no use; common practice, no source */
static const double step = 0.02; /* s: finer than any logger shows */

/* shot_view_at for times that rise: `i` is at or before the place and moves on, so that none is
 * searched for. */
static double value_at(const shot_channel_view *view, double t, size_t *i) {
    while (*i + 1 < view->n && view->t[*i + 1] < t)
        ++*i;
    if (t <= view->t[*i] || *i + 1 >= view->n)
        return view->y[*i];
    const double share = (t - view->t[*i]) / (view->t[*i + 1] - view->t[*i]);
    return view->y[*i] + share * (view->y[*i + 1] - view->y[*i]);
}

/* The sum of squares that the best c leaves, for the first n samples of the flow. */
static double misfit(const shot_channel_view *pressure, const shot_channel_view *flow, double rest,
                     double still, size_t n, double lag) {
    double xx = 0, xy = 0, yy = 0;
    size_t at = 0;
    for (size_t i = 0; i < n; i++) {
        const double x = sqrt(fmax(0, value_at(pressure, flow->t[i] - lag, &at) - rest));
        const double y = flow->y[i] - still;
        xx += x * x, xy += x * y, yy += y * y;
    }
    return xx > 0 && xy > 0 ? yy - xy * xy / xx : INFINITY;
}

/* Does a line that stands under pressure, as under that of the mains, let its water go at once when
 * its valve opens?  Pressure then shows before any water runs, however quick the meter. */
static bool valve_opens(const shot_channel_view *pressure, const shot_channel_view *flow,
                        double rest, double still, double until) {
    static const double moment = 0.5, at_once = 1; /* s; common practice, no source */
    const double begin = pressure->t[0];
    const double stood = shot_view_mean(pressure, begin, begin + moment) - rest;
    const double held = shot_view_mean(pressure, until - moment, until) - rest;
    const double most = shot_view_mean(flow, until - moment, until) - still;
    size_t on = 0;
    while (on < flow->n && flow->y[on] - still < 0.1 * most)
        on++;
    return stood > held / 2 && on < flow->n &&
           shot_view_at(flow, flow->t[on] + at_once) - still > 0.8 * most;
}

double shot_meter_lag(const shot_channel_view *pressure, const shot_channel_view *flow, double rest,
                      double still, double until) {
    const size_t n = shot_view_first(flow, until);
    double least = INFINITY, best = 0;
    if (n < 3 || pressure->n < 2 || valve_opens(pressure, flow, rest, still, until))
        return 0;
    for (double lag = 0; lag <= longest; lag += step) {
        const double left = misfit(pressure, flow, rest, still, n, lag);
        if (left < least) {
            least = left;
            best = lag;
        }
    }
    return best;
}

/* The water that passes in from..to: the integral by lines between the samples. */
static double volume(const shot_channel_view *flow, double from, double to) {
    double sum = 0, last = from, y = shot_view_at(flow, from);
    for (size_t k = shot_view_first(flow, from); k < flow->n && flow->t[k] < to; k++) {
        sum += (flow->t[k] - last) * (flow->y[k] + y) / 2;
        last = flow->t[k];
        y = flow->y[k];
    }
    return sum + (to - last) * (shot_view_at(flow, to) + y) / 2;
}

double shot_meter_lag_at_stop(const shot_channel_view *flow, shot_instant off) {
    static const double before = 1; /* s */
    if (flow->n < 5 || isnan(off.at) || !(flow->t[0] < off.low - before) ||
        !(flow->t[flow->n - 1] > off.at + longest))
        return 0;
    const double doubt = (off.high - off.low) / 2 + flow->noise.spacing / 2;
    const double level = volume(flow, off.low - before, off.low) / before;
    const double lag = volume(flow, off.at, off.at + longest) / level;
    return level > 0 && lag > doubt ? fmin(lag, longest) : 0;
}
