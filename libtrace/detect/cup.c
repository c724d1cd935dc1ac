/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long a cup stands on its scale untouched. */
#include "detect/cup.h"

#include <math.h>

#include "detect/onset.h"

static const double least_fall = 1;  /* g for good: drops that run off a scale are less */
static const double fastest = 25;    /* g/s: more than any pump of these machines gives, 10 to
                                        15 ml/s (common practice, no source) */
static const double long_enough = 1; /* s over which a weight is judged */
static const double knock = 0.5;     /* s in which a cup that was knocked comes to rest */
static const double most = 0.75;
static const double longest_hand = 5;  /* s for which somebody leans on a cup */
static const double look_again = 0.05; /* s: at 1 kHz not every sample need be tried */

/* What noise and rounding do to a weight. */
static double blur(const shot_channel_view *weight) {
    return fmax(5 * weight->noise.sd * sqrt(weight->noise.inflation), 1.5 * weight->step);
}

static double window(const shot_channel_view *weight) {
    return fmax(long_enough, 4 * weight->noise.spacing);
}

/* How many of the samples in from..to lie over `level`. */
static double share_over(const shot_channel_view *weight, double from, double to, double level) {
    double over = 0, all = 0;
    for (size_t i = shot_view_first(weight, from); i < weight->n && weight->t[i] <= to; i++, all++)
        over += weight->y[i] > level;
    return over / all;
}

/* Does the weight of sample i, and of one beside it since one may be a spike, lie so far above that
 * shortly after it that no drop did it?  Then a cup stood there for less time than a weight is
 * judged over: it was put on and tared at once. */
static bool stood_shortly(const shot_channel_view *weight, size_t i, double after) {
    const bool before = i > 0 && weight->y[i - 1] > after;
    return weight->y[i] > after && (before || (i + 1 < weight->n && weight->y[i + 1] > after));
}

/* Does the weight up to sample i lie above that shortly after it, or so far below that no water
 * fills the difference?  Most samples must, since one may be a spike. */
static bool is_touched(const shot_channel_view *weight, size_t i) {
    const double t = weight->t[i], span = window(weight), from = t + knock, to = from + span;
    const double before = shot_view_mean(weight, t - span, t);
    const double after = shot_view_mean(weight, from, to);
    const double fall = fmax(least_fall, blur(weight)), rise = fastest * (span + knock);
    const bool falls = share_over(weight, from, to, before - fall) <= 1 - most &&
                       share_over(weight, t - span, t, after + fall) >= most;
    return falls || stood_shortly(weight, i, after + rise) ||
           (share_over(weight, from, to, before + rise) >= most &&
            share_over(weight, t - span, t, after - rise) <= 1 - most);
}

/* The first sample from i on that is touched, or that is not. */
static size_t next_that_is(const shot_channel_view *weight, size_t i, bool touched) {
    for (double next = -INFINITY; i < weight->n; i++) {
        if (weight->t[i] < next)
            continue;
        next = weight->t[i] + look_again;
        if (is_touched(weight, i) == touched)
            break;
    }
    return i;
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
        stands->n = shot_view_first(stands, stands->t[n - 1] - knock);
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
    const double beside = 2 * window(weight) + knock;
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
