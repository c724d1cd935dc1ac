/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long a cup stands on its scale untouched. */
#include "detect/cup.h"

#include <math.h>

#include "detect/onset.h"
#include "puck/cup_touch.h"

static const double longest_hand = 5; /* s for which somebody leans on a cup */

/* What noise and rounding do to a weight. */
static double blur(const shot_channel_view *weight) {
    return cup_blur(weight->noise.sd, weight->noise.inflation, weight->step);
}

static double window(const shot_channel_view *weight) {
    return cup_window(weight->noise.spacing);
}

/* The first sample from i on that is touched, or that is not. */
static size_t next_that_is(const shot_channel_view *weight, size_t i, bool touched) {
    const cup_weight logged = {weight->t, weight->y, weight->n, weight->noise.spacing,
                               blur(weight)};
    return cup_next_touch(&logged, i, touched);
}

/* The first sample from i on at which the scale rests. */
static size_t rests_from(const shot_channel_view *weight, size_t i) {
    for (; i < weight->n; i++)
        if (fabs(shot_view_mean(weight, weight->t[i], weight->t[i] + window(weight)) -
                 weight->y[i]) < blur(weight))
            break;
    return i;
}

/* The samples from `first` to before `end`, borrowed. */
static shot_channel_view part_of(const shot_channel_view *weight, size_t first, size_t end) {
    shot_channel_view part = *weight;
    part.t += first;
    part.y += first;
    part.n = end - first;
    return part;
}

shot_channel_view shot_cup_stands(const shot_channel_view *weight, size_t *at) {
    const size_t first = *at, end = next_that_is(weight, first, true);
    const size_t after = end < weight->n ? next_that_is(weight, end, false) : weight->n;
    *at = after;
    if (after < weight->n) { /* what is not touched is so since a while */
        const size_t since = shot_view_first(weight, weight->t[after] - window(weight));
        *at = rests_from(weight, since > end ? since : end + 1);
    }
    return part_of(weight, first, end);
}

/* A hand that leans on the cup shows only when it lets go, at the end of what stands: as the cup
 * only gains, what lay above the weight that rests behind it was the hand, which took a while to
 * come.  Where all of the last seconds lie above, it was no hand: the scale was tared. */
static void take_hand_off(shot_channel_view *stands, double rests, double spread) {
    if (stands->n == 0)
        return;
    const double end = stands->t[stands->n - 1];
    size_t n = stands->n;
    while (n > 0 && stands->y[n - 1] > rests + spread && end - stands->t[n - 1] < longest_hand)
        n--;
    if (n > 0 && stands->y[n - 1] <= rests + spread)
        stands->n = shot_view_first(stands, stands->t[n - 1] - CUP_KNOCK);
}

void shot_cup_take_hand_off(const shot_channel_view *weight, size_t at, shot_channel_view *stands) {
    if (at >= weight->n)
        return;
    const double t = weight->t[at], span = window(weight), spread = blur(weight);
    const double rests = shot_view_mean(weight, t, t + span);
    if (shot_view_mean(weight, t + span, t + 2 * span) - rests < spread)
        take_hand_off(stands, rests, spread);
}

shot_channel_view shot_cup_longest(const shot_channel_view *weight, double from, double to) {
    const double beside = 2 * window(weight) + CUP_KNOCK;
    const shot_channel_view part = part_of(weight, shot_view_first(weight, from - beside),
                                           shot_view_first(weight, to + beside));
    shot_channel_view longest = part;
    double most_time = -INFINITY;
    for (size_t at = 0; at < part.n;) {
        shot_channel_view stands = shot_cup_stands(&part, &at);
        if (at < part.n)
            take_hand_off(&stands, shot_view_mean(&part, part.t[at], part.t[at] + window(&part)),
                          blur(&part));
        if (stands.n == 0)
            continue;
        const double time = fmin(to, stands.t[stands.n - 1]) - fmax(from, stands.t[0]);
        if (time > most_time) {
            longest = stands;
            most_time = time;
        }
    }
    return longest;
}
