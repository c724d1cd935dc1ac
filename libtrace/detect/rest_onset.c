/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel leaves its rest. */
#include "detect/rest_onset.h"

#include <math.h>

#include "detect/power_onset.h"

/* Where the time to hold has two samples more, the mean is over `limit` also without its first,
 * which may be a spike.  In a slower log a pulse may show in one sample. */
double shot_rest_first_over(const shot_channel_view *view, double limit, double hold) {
    for (size_t i = 0; i < view->n; i++) {
        const double until = view->t[i] + hold;
        if (!(view->y[i] > limit && shot_view_mean(view, view->t[i], until) > limit))
            continue;
        const bool dense = i + 2 < view->n && view->t[i + 2] <= until;
        if (!dense || shot_view_mean(view, view->t[i + 1], until) > limit)
            return view->t[i];
    }
    return NAN;
}

shot_instant shot_rest_left_before(const shot_channel_view *view) {
    return (shot_instant){view->t[0], NAN, view->t[0]};
}

shot_instant shot_rest_between(const shot_channel_view *view, size_t i) {
    if (i == 0)
        return shot_rest_left_before(view);
    return (shot_instant){(view->t[i - 1] + view->t[i]) / 2, view->t[i - 1], view->t[i]};
}

/* The end of the first part of the way up from sample `over` to sample `top`: a fifth of it and
 * well clear of the noise, but three samples at least and not over half. */
static size_t first_part(const shot_channel_view *view, double rest, size_t over, size_t top) {
    double height = view->y[top] - rest;
    double enough = fmax(0.2 * height, 6 * view->noise.sd);
    size_t start = over, end = over;
    while (start > 0 && view->y[start - 1] > rest + 2 * view->noise.sd)
        start--;
    while (end < top && view->y[end] < rest + height / 2 &&
           (view->y[end] < rest + enough || end < start + 3))
        end++;
    return end;
}

/* Onset of a channel that rises from `rest` at about `about`: the level before, and the way up to
 * half of the first height that it reaches. */
static shot_status onset_place(const shot_channel_view *view, double rest, double limit,
                               double about, shot_instant *out) {
    double spacing = view->noise.spacing, reach = fmax(1, 4 * spacing);
    size_t over = shot_view_first(view, about), top = over;
    for (size_t i = over; i < view->n && view->t[i] <= about + reach; i++)
        if (view->y[i] > view->y[top])
            top = i;
    double half = rest + (view->y[top] - rest) / 2;
    const double resting = fmin(limit, rest + fmax(4 * view->noise.sd, view->step));
    if (view->y[over] >= half && over > 0 && view->y[over - 1] < limit) {
        *out = shot_rest_between(view, view->y[over - 1] > resting && over > 1 ? over - 1 : over);
        return SHOT_OK;
    }
    size_t on_way = first_part(view, rest, over, top);
    double back = fmax(2, 8 * spacing);
    shot_power_rule rule = {.from = about - back,
                            .to = view->t[on_way],
                            .earliest = fmax(about - 0.8 - 2 * spacing, view->t[0]),
                            .latest = view->t[on_way],
                            .level = rest,
                            .level_sd = 2 * view->noise.sd,
                            .sign = 1,
                            .powers = 2};
    SHOT_TRY(shot_power_onset(view, &rule, out));
    if (isnan(out->at))
        *out = shot_rest_between(view, over);
    return SHOT_OK;
}

shot_status shot_rest_onset(const shot_channel_view *view, double rest, double limit, double about,
                            shot_instant *out) {
    SHOT_TRY(onset_place(view, rest, limit, about, out));
    const double slack = shot_edge_slack(view) / 2;
    *out = shot_instant_widened(*out, slack);
    out->low -= slack; /* a start that is rounded shows late, never early */
    return SHOT_OK;
}
