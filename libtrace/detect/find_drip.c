/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the first drop leaves the basket. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/straight_line.h>

#include "detect/course.h"
#include "detect/cup.h"
#include "detect/power_onset.h"
#include "detect/rest_onset.h"
#include "detect/stream_clock.h"

static const shot_instant never = {NAN, NAN, NAN};

enum { LINE = 1, PARABOLA = 2 }; /* powers of the time */

/* Neither a line nor a parabola is known to be the shape, and most streams look more like a line:
 * so much of the way to the parabola. */
static const double towards_parabola = 0.07;

static const double first_part_time = 1; /* s of the stream by which its start is told */
static const double longest_creep = 16;  /* s for which drops may creep up before they show */
static const double rest_before = 4;     /* s of rest before them */
static const double usual_stay = 1.5;    /* s for which drops must stay */
static const double comes_to_rest = 0.5; /* s after a knock; common practice, no source */
static const double least_knock = 1;     /* g: less is a scale that drifts; common practice */

/* A scale that smooths lags a steady stream by its time constant: carried back, the line of the
 * stream gives the start less just that lag.  But the stream may build up slowly: the interval
 * holds where a parabola would start too.  Where that fits better, what is left when the lag is
 * taken off is no later than where the weight begins to rise, since no drop shows before it falls;
 * figures far apart do not show where that is.  `weight` and `rule` are on the clock. */
static shot_status stream_start(const shot_channel_view *weight, const shot_power_rule *rule,
                                const stream_clock *clock, double lag, shot_instant *out) {
    shot_instant alone[PARABOLA], either;
    SHOT_TRY(shot_power_onset_each(weight, rule, alone, &either));
    const shot_instant on_line = alone[LINE - 1], on_curve = alone[PARABOLA - 1];
    *out = isnan(on_line.at) ? never : stream_clock_time(clock, on_line);
    if (isnan(on_line.at) || isnan(on_curve.at))
        return SHOT_OK;
    const shot_instant gentle = stream_clock_time(clock, on_curve);
    const bool curves = fabs(either.at - on_curve.at) < 1e-6; /* the better one starts there */
    out->low = fmin(out->low, gentle.at);
    if (curves && 4 * weight->noise.spacing <= first_part_time)
        out->at = fmin(out->at, gentle.high + lag);
    out->at += fmin(0, gentle.at - out->at) * towards_parabola;
    return SHOT_OK;
}

/* Samples between which nobody touched the cup, and what is known of them. */
typedef struct drip_search {
    const shot_channel_view *weight;
    double rest, sd; /* g before the first drop, of a figure */
    double first;    /* s from which a drop may come */
    double lag;      /* s, infinite if not known */
    double stay;     /* s for which drops must */
    stream_clock *clock;
} drip_search;

/* About sample `over`, which shows it. */
static shot_status place_stream(const drip_search *search, size_t over, shot_instant *out) {
    const shot_channel_view *weight = search->weight;
    const double about = weight->t[over], spacing = weight->noise.spacing;
    const double end = about + fmax(first_part_time, 4 * spacing);
    const double from = fmax(search->first, about - longest_creep - rest_before);
    shot_channel_view part;
    stream_clock_set(search->clock, about, end);
    SHOT_TRY(stream_clock_view(search->clock, weight, from, end, &part));
    const double creeps = fmax(search->first, about - longest_creep);
    const shot_power_rule rule = {.from = stream_clock_at(search->clock, from),
                                  .to = stream_clock_at(search->clock, end),
                                  .earliest = stream_clock_at(search->clock, creeps),
                                  .latest = stream_clock_at(search->clock, end - spacing),
                                  .level = search->rest,
                                  .level_sd = search->sd,
                                  .sign = 1,
                                  .powers = PARABOLA};
    const shot_status status = stream_start(&part, &rule, search->clock, search->lag, out);
    if (status == SHOT_OK && isnan(out->at))
        *out = shot_rest_between(weight, over);
    shot_channel_view_free(&part);
    return status;
}

/* The first sample that drops may have brought over the noise; n if there is none.  A cup that is
 * knocked goes back. */
static size_t first_over(const drip_search *search, size_t start) {
    const shot_channel_view *weight = search->weight;
    const double hold = fmax(search->stay, 3 * weight->noise.spacing);
    const double limit = search->rest + fmax(5 * search->sd, 1.5 * weight->step);
    size_t i = start;
    for (; i < weight->n; i++) {
        const double t = weight->t[i];
        if (weight->y[i] > limit && shot_view_mean(weight, t, t + hold) > limit + 3 * search->sd &&
            shot_view_mean(weight, t + hold / 2, t + hold) > limit)
            break;
    }
    return i;
}

/* What the scale shows before drops come: the mean of what lies near the median, since a cup may be
 * knocked. */
static shot_status rest_of(const shot_channel_view *weight, double until, double near,
                           double *out) {
    const size_t n = shot_view_first(weight, nextafter(until, INFINITY));
    double *work = malloc((n + 1) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    memcpy(work, weight->y, n * sizeof *work);
    const double middle = shot_median(work, n);
    double sum = 0, count = 0;
    for (size_t i = 0; i < n; i++)
        if (fabs(weight->y[i] - middle) <= near)
            sum += weight->y[i], count++;
    *out = count > 0 ? sum / count : middle;
    free(work);
    return SHOT_OK;
}

/* Does the weight of sample i lie more than `knock` above one that comes soon after it, and is no
 * knock down to below `least`? */
static bool goes_away(const shot_channel_view *weight, size_t i, double least, double knock) {
    static const double soon = 2; /* s */
    const double until = weight->t[i] + soon, low = weight->y[i] - knock;
    for (size_t k = i + 1; k < weight->n && weight->t[k] <= until; k++)
        if (weight->y[k] < low && weight->y[k] >= least)
            return true;
    return false;
}

/* A copy without knocks: a cup that stands only gains, so that what lies more than `knock` below
 * its rest was none of it, and what goes away again no beverage; nor is what a scale shows while it
 * comes to rest. */
static shot_status without_knocks(const shot_channel_view *weight, double rest, double knock,
                                  shot_channel_view *out) {
    const double least = rest - knock;
    double rests = -INFINITY;
    SHOT_TRY(shot_view_copy(weight, out));
    out->n = 0;
    for (size_t i = 0; i < weight->n; i++) {
        if (weight->y[i] < least || goes_away(weight, i, least, knock))
            rests = weight->t[i] + comes_to_rest;
        if (weight->t[i] < rests)
            continue;
        out->t[out->n] = weight->t[i];
        out->y[out->n++] = weight->y[i];
    }
    return SHOT_OK;
}

/* In samples between which nobody touched the cup. */
static shot_status first_weight(const shot_channel_view *weight, double earliest, double lag,
                                double stay, stream_clock *clock, shot_instant *out) {
    if (weight->n == 0)
        return SHOT_OK;
    const double first = fmax(weight->t[0], earliest); /* of NaN and t the t */
    const double until = first + fmax(1, 3 * weight->noise.spacing);
    const double sd = weight->noise.sd * sqrt(weight->noise.inflation);
    const double knock = fmax(least_knock, fmax(5 * sd, 1.5 * weight->step));
    double rest;
    shot_channel_view stands;
    SHOT_TRY(rest_of(weight, until, knock, &rest));
    SHOT_TRY(without_knocks(weight, rest, knock, &stands));
    const drip_search search = {.weight = &stands,
                                .rest = rest,
                                .sd = sd,
                                .first = first,
                                .lag = lag,
                                .stay = stay,
                                .clock = clock};
    const size_t over = first_over(&search, shot_view_first(&stands, first));
    const shot_status status = over < stands.n ? place_stream(&search, over, out) : SHOT_OK;
    shot_channel_view_free(&stands);
    return status;
}

/* In the first time for which the cup stands untouched and a stream runs into it. */
static shot_status first_stream(const shot_course *course, double earliest, shot_instant *out) {
    const double lag = course->input->scale_lag;
    const double stay = course->drops_stay > 0 ? course->drops_stay : usual_stay;
    stream_clock clock;
    shot_status status =
        stream_clock_new(&course->level, course->rest, isnan(lag) ? 0 : lag, &clock);
    for (size_t at = 0; at < course->weight.n && isnan(out->at) && status == SHOT_OK;) {
        shot_channel_view stands = shot_cup_stands(&course->weight, &at);
        shot_cup_take_hand_off(&course->weight, at, &stands);
        status = first_weight(&stands, earliest, isnan(lag) ? INFINITY : lag, stay, &clock, out);
    }
    stream_clock_free(&clock);
    return status;
}

static shot_status first_outflow(const shot_channel_view *outflow, shot_instant *out) {
    const double limit = fmax(6 * outflow->noise.sd, 1.5 * outflow->step);
    const double about = shot_rest_first_over(outflow, limit, 1);
    return isnan(about) ? SHOT_OK : shot_rest_onset(outflow, 0, limit, about, out);
}

/* Drops fall and scales smooth: the weight shows up to so much later, of which the middle is
 * nearest to whatever it is.  Common practice, no source. */
static const double most_lag = 0.8; /* s */

/* Does the weight rise from its first second on?  Then drops fell before. */
static bool starts_in_stream(const shot_channel_view *weight) {
    static const double least = 0.3; /* g/s: a scale that settles is slower; common practice */
    const double from = weight->t[0], to = from + fmax(1, 4 * weight->noise.spacing);
    shot_straight_line line;
    return shot_straight_line_fit(weight->t, weight->y, weight->n, from, to, &line) == SHOT_OK &&
           line.slope > fmax(least, 4 * line.slope_se) &&
           shot_view_mean(weight, to, 2 * to - from) > line.level + line.slope * (to - line.centre);
}

shot_status shot_find_drip(const shot_course *course, shot_phases *out) {
    const shot_phase_input *input = course->input;
    const double most = isnan(input->scale_lag) ? most_lag : input->scale_lag;
    const double least = isnan(input->scale_lag) ? 0 : input->scale_lag;
    shot_instant seen = never;
    out->first_drip = shot_phase_known(input, SHOT_FIRST_DRIP);
    out->drips = out->first_drip.at;
    if (!isnan(out->first_drip.at))
        return SHOT_OK;
    if (out->late_full)
        return SHOT_OK; /* the cup may hold some already */
    out->late_weight = course->weight.n >= 5 && starts_in_stream(&course->weight);
    if (out->late_weight)
        return SHOT_OK;
    if (course->weight.n >= 5)
        SHOT_TRY(first_stream(course, out->water_in.at, &seen));
    else if (input->outflow.n >= 5)
        SHOT_TRY(first_outflow(&input->outflow, &seen));
    out->drips = seen.at - least;
    out->first_drip =
        (shot_instant){seen.at - (least + most) / 2, seen.low - most, seen.high - least};
    return SHOT_OK;
}
