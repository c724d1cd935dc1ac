/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules by which an opening is a surge: the figures of the log around it, and its own. */
#include "detect/surge_rules.h"

#include <math.h>

#include "detect/surge_measure.h"
#include "detect/surge_shapes.h"

static const double least = 0.5; /* s by which onsets may lie beside those looked for */

/* ---- pressure around an opening ---- */

/* The last instant of which the pressure tells of an opening that ends then: its rate is taken over
 * both sides of the first sample behind it.  While the shot runs all that follows is still to come.
 */
static double tells_until(const surge_rules *self, double end) {
    const conductance_data *data = self->data;
    return self->running ? INFINITY : fmax(end, surge_first_from(data, end)) + 1.1 * data->apart;
}

/* Sample i lies so near that a change of pressure there shows while it opens. */
static bool reaches(const surge_rules *self, const conductance_opening *opening, double until,
                    size_t i) {
    const conductance_data *data = self->data;
    double at = data->t[i] - data->lag;
    double within = self->drive[i] == SURGE_LOWERED ? surge_relaxing : 0.3;
    return self->drive[i] != SURGE_STEADY && opening->onset - at <= within && at <= until;
}

/* When the pressure began to be lowered, as sample i feels it: changes that follow each other
 * within the time in which a bed settles are one. */
static double lowered_since(const surge_rules *self, size_t i) {
    const conductance_data *data = self->data;
    double since = data->t[i] - data->lag;
    for (; i > 0; i--) {
        const double at = data->t[i] - data->lag;
        if (self->drive[i] == SURGE_LOWERED)
            since = at;
        else if (at <= since - surge_relaxing)
            break;
    }
    return since;
}

/* Where pressure was lowered, as sample i feels it, the bed relaxes, and may let through as much
 * again as before, but no more. */
static bool is_more_than_before(const surge_rules *self, const conductance_opening *opening,
                                size_t i) {
    const conductance_data *data = self->data;
    const double opened = opening->onset + opening->seconds, until = tells_until(self, opened);
    const double lowered = fmin(lowered_since(self, i), opening->onset);
    while (i + 1 < data->n && self->drive[i + 1] == SURGE_LOWERED &&
           data->t[i + 1] - data->lag <= until)
        i++;
    const double end =
        fmax(opened, data->t[i] - data->lag) + (data->drains ? surge_longest_drain : 0);
    double before_se, after_se;
    const double last = surge_last_before(data, lowered);
    const double before =
        surge_mean_flow(data, fmin(last, lowered - surge_shortly), last, &before_se);
    const double after = surge_mean_flow(data, end, end + surge_shortly, &after_se);
    return after - before > 2 * hypot(before_se, after_se);
}

/* Pressure is changed on purpose while it opens, until `end`, or was lowered shortly before.  What
 * flows after that tells of the bed only if pressure is not raised again. */
static bool is_driven(const surge_rules *self, const conductance_opening *opening, double end) {
    const conductance_data *data = self->data;
    const double until = tells_until(self, end), behind = fmax(until, end + surge_shortly);
    bool lowered = false;
    size_t i = surge_first_at(data, opening->onset - surge_relaxing);
    for (; i < data->n && data->t[i] - data->lag <= behind; i++) {
        if (!reaches(self, opening, lowered ? behind : until, i) ||
            (lowered && self->drive[i] == SURGE_LOWERED))
            continue;
        if (self->drive[i] == SURGE_RAISED || !is_more_than_before(self, opening, i))
            return true;
        lowered = true;
    }
    return false;
}

/* The puck is under pressure before and after, and pressure does not rise. */
static bool is_held(const surge_rules *self, const conductance_opening *opening) {
    const conductance_data *data = self->data;
    double from = opening->onset, to = from + opening->seconds, before_se, after_se;
    double within = fmin(opening->seconds / 2, surge_around);
    double early = fmin(from - surge_around, surge_last_before(data, from));
    double late = fmax(to + surge_around, surge_first_from(data, to));
    double before = surge_mean_pressure(data, early, from + within, &before_se);
    double after = surge_mean_pressure(data, to - within, late, &after_se);
    return before > surge_unloaded && after > surge_unloaded &&
           after - surge_steady * before <= 2 * hypot(before_se, after_se);
}

/* ---- is it one? ---- */

/* An opening that was fitted may leave the stretch in which onsets are looked for, but for a
 * little.
 */
static bool is_within(const surge_rules *self, const conductance_opening *opening) {
    return opening->onset > self->from - least && opening->onset < self->to + least;
}

/* At the end of a shot, an opening of which nothing more than its beginning is seen could be as
 * large as one likes. */
static bool is_whole(const surge_rules *self, const conductance_opening *opening) {
    const conductance_data *data = self->data;
    return self->running ||
           opening->onset + opening->seconds / 2 <= data->t[data->n - 1] - data->lag;
}

/* No loss within a gap of twice the longest surge can be told from one that took all of it. */
static bool is_seen(const surge_rules *self, const conductance_opening *opening) {
    const conductance_data *data = self->data;
    const double from = opening->onset, to = from + opening->seconds;
    return self->running ||
           surge_first_from(data, to) - surge_last_before(data, from) <= 2 * surge_longest ||
           surge_first_from(data, from) < to;
}

double surge_flow_until(const conductance_data *data, double t, double *se) {
    double last = fmin(t, surge_last_before(data, t));
    return surge_mean_flow(data, last - 1, last, se);
}

/* What a meter cannot tell from no flow: twice the standard error of a mean, and, since its zero is
 * known no better, the noise of one figure.  A count has no zero that could be off. */
static double least_flow(const conductance_data *data, double se) {
    return fmax(2 * se, data->summed || data->coarse > 0 ? 0 : data->sd);
}

/* Where nothing is seen to flow before, or the flow has just ceased, it begins to flow. */
static bool flows_before(const surge_rules *self, const conductance_opening *opening) {
    const conductance_data *data = self->data;
    double se, late_se;
    const double flow = surge_flow_until(data, opening->onset, &se);
    const double last = fmin(opening->onset, surge_last_before(data, opening->onset));
    const double late = surge_mean_flow(data, last - surge_around, last, &late_se);
    return flow > least_flow(data, se) &&
           !(late <= 2 * late_se && flow - late > 2 * hypot(se, late_se));
}

/* More flows for its pressure in the end than at first, by a loss worth the name and as far as
 * noise lets tell.  Where a flow that fell steeply ceases to fall, as when the bed is wet through,
 * the trend breaks, but no resistance is lost. */
static bool gives_way(const surge_rules *self, const conductance_opening *opening) {
    const conductance_data *data = self->data;
    const double late = data->drains ? surge_longest_drain : 0, from = opening->onset;
    const double to = from + opening->seconds + late;
    double q0_se, q1_se, p0_se, p1_se;
    const double q0 = surge_mean_flow(data, from - surge_shortly, from, &q0_se);
    const double q1 = surge_mean_flow(data, to, to + surge_shortly, &q1_se);
    const double p0 = surge_mean_pressure(data, from - surge_shortly, from, &p0_se);
    const double p1 = surge_mean_pressure(data, to, to + surge_shortly, &p1_se);
    const double before = q0 / p0, after = q1 / p1;
    const double before_se = before * hypot(q0_se / q0, p0_se / p0);
    const double after_se = after * hypot(q1_se / q1, p1_se / p1);
    return !(before / (1 - surge_least_loss) - after > 2 * hypot(before_se, after_se));
}

conductance_opening surge_rules_seen(const surge_rules *self, const conductance_opening *opening) {
    conductance_opening part = *opening;
    if (self->running)
        part.seconds =
            fmin(part.seconds, self->data->t[self->data->n - 1] - self->data->lag - part.onset);
    return part;
}

bool surge_rules_take(const surge_rules *self, const conductance_opening *opening) {
    return is_within(self, opening) && is_whole(self, opening) && is_seen(self, opening) &&
           flows_before(self, opening) && is_held(self, opening) &&
           !is_driven(self, opening, opening->onset + opening->seconds) && gives_way(self, opening);
}

/* ---- its figures ---- */

/* What comes out longer than a surge takes is none where a loss that takes longer still is likelier
 * by more than the shapes' misfit, in all that was seen of the opening, takes off the likelihood
 * of the right length. */
static bool is_quick(const surge *one) {
    const double left = surge_misfit * one->score;
    return one->to - one->from <= surge_longest || one->sooner > -left * left / 2;
}

/* The figures are means over all that is credible, and may lie elsewhere than the likeliest
 * opening: they too must be seen to their middle, and end before the pressure is changed. */
static bool stays_one(const surge_rules *self, const surge *one) {
    const conductance_opening mean = {.onset = one->from, .seconds = one->to - one->from};
    return is_whole(self, &mean) && is_seen(self, &mean) && !is_driven(self, &mean, one->to_high);
}

/* What flows behind it, less what was lost, flowed before: by the whole shot too more than none. */
static bool starts_from_flow(const surge_rules *self, const surge *one) {
    const conductance_data *data = self->data;
    const double end = one->to + (data->drains ? surge_longest_drain : 0);
    double before_se, after_se;
    (void)surge_flow_until(data, one->from, &before_se);
    const double after = surge_mean_flow(data, end, end + surge_shortly, &after_se);
    return !(after * (1 - one->loss) <= least_flow(data, before_se)) || !isfinite(before_se);
}

bool surge_rules_keep(const surge_rules *self, const surge *one) {
    return one->loss >= surge_least_loss && is_quick(one) && stays_one(self, one) &&
           starts_from_flow(self, one);
}
