/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges: the highest step of conductance that is one, taken out, and again. */
#include "detect/surge_finder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/surge_dip.h"
#include "detect/surge_drive.h"
#include "detect/surge_group.h"
#include "detect/surge_latest.h"
#include "detect/surge_measure.h"
#include "detect/surge_resolved.h"
#include "detect/surge_scan.h"
#include "detect/surge_shapes.h"

static const double least_loss = 0.05; /* the contract's 5 % */
static const double least = 0.5;       /* s of samples before an onset, and behind it */
static const double least_told = 0.12; /* while the shot runs: noise that lasts looks like less */
static const double steady = 1.02;     /* pressure after over before: not raised */
static const double eased = 0.02;      /* change of ln(pressure): the load fell */
static const double shortly = 0.7;     /* s over which flow before and after is averaged */
static const double around = 0.35;     /* s over which pressure is, on either side of an edge */
static const double lately = 0.3;      /* s over which it is at the end of a running shot */
static const double under = 0.5;       /* bar; less is no load */
static const double beside = 8; /* s between onsets; those farther apart hardly hide each other:
                                   two take 2 s, with 3 s to settle */

typedef struct finder {
    surge_scan scan;
    surge_part *parts; /* found so far, and taken out of the figures; [part_count] */
    size_t part_count;
    surge_drive *drive; /* [channels[0]->n] */
    const surge_search *search;
} finder;

/* ---- pressure around an opening ---- */

static shot_status find_drive(conductance_data *const *channels, size_t count, surge_drive **out) {
    *out = calloc(channels[0]->n + 1, sizeof **out);
    if (*out == NULL)
        return SHOT_ERR_MEMORY;
    surge_drive_find(channels[0], *out);
    for (size_t k = 0; k < count; k++)
        surge_drive_age(channels[0], *out, channels[k]);
    return SHOT_OK;
}

/* The last instant of which the pressure tells of an opening that ends then: its rate is taken over
 * both sides of the first sample behind it.  While the shot runs all that follows is still to come.
 */
static double tells_until(const finder *self, double end) {
    const conductance_data *data = self->scan.channels[0].data;
    return self->search->running ? INFINITY
                                 : fmax(end, surge_first_from(data, end)) + 1.1 * data->apart;
}

/* Sample i lies so near that a change of pressure there shows while it opens. */
static bool reaches(const finder *self, const conductance_opening *opening, double until,
                    size_t i) {
    const conductance_data *data = self->scan.channels[0].data;
    double at = data->t[i] - data->lag;
    double within = self->drive[i] == SURGE_LOWERED ? surge_relaxing : 0.3;
    return self->drive[i] != SURGE_STEADY && opening->onset - at <= within && at <= until;
}

/* When the pressure began to be lowered, as sample i feels it: changes that follow each other
 * within the time in which a bed settles are one. */
static double lowered_since(const finder *self, size_t i) {
    const conductance_data *data = self->scan.channels[0].data;
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
static bool is_more_than_before(const finder *self, const conductance_opening *opening, size_t i) {
    const conductance_data *data = self->scan.channels[0].data;
    const double opened = opening->onset + opening->seconds, until = tells_until(self, opened);
    const double lowered = fmin(lowered_since(self, i), opening->onset);
    while (i + 1 < data->n && self->drive[i + 1] == SURGE_LOWERED &&
           data->t[i + 1] - data->lag <= until)
        i++;
    const double end =
        fmax(opened, data->t[i] - data->lag) + (data->drains ? surge_longest_drain : 0);
    double before_se, after_se;
    const double last = surge_last_before(data, lowered);
    const double before = surge_mean_flow(data, fmin(last, lowered - shortly), last, &before_se);
    const double after = surge_mean_flow(data, end, end + shortly, &after_se);
    return after - before > 2 * hypot(before_se, after_se);
}

/* Pressure is changed on purpose while it opens, until `end`, or was lowered shortly before.  What
 * flows after that tells of the bed only if pressure is not raised again. */
static bool is_driven(const finder *self, const conductance_opening *opening, double end) {
    const conductance_data *data = self->scan.channels[0].data;
    const double until = tells_until(self, end), behind = fmax(until, end + shortly);
    bool lowered = false;
    for (size_t i = 0; i < data->n; i++) {
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
static bool is_held(const finder *self, const conductance_opening *opening) {
    const conductance_data *data = self->scan.channels[0].data;
    double from = opening->onset, to = from + opening->seconds, before_se, after_se;
    double within = fmin(opening->seconds / 2, around);
    double early = fmin(from - around, surge_last_before(data, from));
    double late = fmax(to + around, surge_first_from(data, to));
    double before = surge_mean_pressure(data, early, from + within, &before_se);
    double after = surge_mean_pressure(data, to - within, late, &after_se);
    return before > under && after > under &&
           after - steady * before <= 2 * hypot(before_se, after_se);
}

/* ---- is it one? ---- */

/* One event is found once: what is left of it after it was taken out is no second. */
static bool is_new(const finder *self, const conductance_opening *opening) {
    for (size_t i = 0; i < self->part_count; i++) {
        const conductance_opening *other = &self->parts[i].candidate.opening;
        if (opening->onset + opening->seconds > other->onset &&
            opening->onset < other->onset + other->seconds)
            return false;
    }
    return true;
}

/* An opening that was fitted may leave the stretch in which onsets are looked for, but for a
 * little.
 */
static bool is_within(const finder *self, const conductance_opening *opening) {
    return opening->onset > self->scan.from - least && opening->onset < self->scan.to + least;
}

/* At the end of a shot, an opening of which nothing more than its beginning is seen could be as
 * large as one likes. */
static bool is_whole(const finder *self, const conductance_opening *opening) {
    const conductance_data *data = self->scan.channels[0].data;
    return self->search->running ||
           opening->onset + opening->seconds / 2 <= data->t[data->n - 1] - data->lag;
}

/* No loss within a gap of twice the longest surge can be told from one that took all of it. */
static bool is_seen(const finder *self, const conductance_opening *opening) {
    const conductance_data *data = self->scan.channels[0].data;
    const double from = opening->onset, to = from + opening->seconds;
    return self->search->running ||
           surge_first_from(data, to) - surge_last_before(data, from) <= 2 * surge_longest ||
           surge_first_from(data, from) < to;
}

/* What flows in the last second before t in which a sample lies. */
static double flow_until(const conductance_data *data, double t, double *se) {
    double last = fmin(t, surge_last_before(data, t));
    return surge_mean_flow(data, last - 1, last, se);
}

/* What a meter cannot tell from no flow: twice the standard error of a mean, and, since its zero is
 * known no better, the noise of one figure.  A count has no zero that could be off. */
static double least_flow(const conductance_data *data, double se) {
    return fmax(2 * se, data->summed || data->coarse > 0 ? 0 : data->sd);
}

/* Where nothing is seen to flow before, or the flow has just ceased, it begins to flow. */
static bool flows_before(const finder *self, const conductance_opening *opening) {
    const conductance_data *data = self->scan.channels[0].data;
    double se, late_se;
    const double flow = flow_until(data, opening->onset, &se);
    const double last = fmin(opening->onset, surge_last_before(data, opening->onset));
    const double late = surge_mean_flow(data, last - around, last, &late_se);
    return flow > least_flow(data, se) &&
           !(late <= 2 * late_se && flow - late > 2 * hypot(se, late_se));
}

/* More flows for its pressure in the end than at first, by a loss worth the name and as far as
 * noise lets tell.  Where a flow that fell steeply ceases to fall, as when the bed is wet through,
 * the trend breaks, but no resistance is lost. */
static bool gives_way(const finder *self, const conductance_opening *opening) {
    const conductance_data *data = self->scan.channels[0].data;
    const double late = data->drains ? surge_longest_drain : 0, from = opening->onset;
    const double to = from + opening->seconds + late;
    double q0_se, q1_se, p0_se, p1_se;
    const double q0 = surge_mean_flow(data, from - shortly, from, &q0_se);
    const double q1 = surge_mean_flow(data, to, to + shortly, &q1_se);
    const double p0 = surge_mean_pressure(data, from - shortly, from, &p0_se);
    const double p1 = surge_mean_pressure(data, to, to + shortly, &p1_se);
    const double before = q0 / p0, after = q1 / p1;
    const double before_se = before * hypot(q0_se / q0, p0_se / p0);
    const double after_se = after * hypot(q1_se / q1, p1_se / p1);
    return !(before / (1 - least_loss) - after > 2 * hypot(before_se, after_se));
}

/* While the shot runs, an opening is seen as far as it came. */
static conductance_opening seen(const finder *self, const conductance_opening *opening) {
    const conductance_data *data = self->scan.channels[0].data;
    conductance_opening part = *opening;
    if (self->search->running)
        part.seconds = fmin(part.seconds, data->t[data->n - 1] - data->lag - part.onset);
    return part;
}

static bool accept(const void *user, const conductance_opening *whole) {
    const finder *self = user;
    const conductance_opening part = seen(self, whole), *opening = &part;
    return is_within(self, opening) && is_whole(self, opening) && is_new(self, opening) &&
           is_seen(self, opening) && flows_before(self, opening) && is_held(self, opening) &&
           !is_driven(self, opening, opening->onset + opening->seconds) && gives_way(self, opening);
}

/* What comes out longer than a surge takes is none where a loss that takes longer still is likelier
 * by more than the shapes' misfit, in all that was seen of the opening, takes off the likelihood
 * of the right length. */
static bool is_quick(const surge *one) {
    const double left = surge_misfit * one->score;
    return one->to - one->from <= surge_longest || one->sooner > -left * left / 2;
}

/* The figures are means over all that is credible, and may lie elsewhere than the likeliest
 * opening: they too must be seen to their middle, and end before the pressure is changed. */
static bool stays_one(const finder *self, const surge *one) {
    const conductance_opening mean = {.onset = one->from, .seconds = one->to - one->from};
    return is_whole(self, &mean) && is_seen(self, &mean) && !is_driven(self, &mean, one->to_high);
}

/* What flows behind it, less what was lost, flowed before: by the whole shot too more than none. */
static bool starts_from_flow(const finder *self, const surge *one) {
    const conductance_data *data = self->scan.channels[0].data;
    const double end = one->to + (data->drains ? surge_longest_drain : 0);
    double before_se, after_se;
    (void)flow_until(data, one->from, &before_se);
    const double after = surge_mean_flow(data, end, end + shortly, &after_se);
    return !(after * (1 - one->loss) <= least_flow(data, before_se)) || !isfinite(before_se);
}

/* ---- all of them ---- */

static shot_status add(surge **list, size_t *count, const surge *one) {
    surge *grown = realloc(*list, (*count + 1) * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    *list = grown;
    size_t place = (*count)++;
    for (; place > 0 && grown[place - 1].from > one->from; place--)
        grown[place] = grown[place - 1];
    grown[place] = *one;
    return SHOT_OK;
}

static int earlier_first(const void *a, const void *b) {
    const double x = ((const surge_part *)a)->candidate.opening.onset;
    const double y = ((const surge_part *)b)->candidate.opening.onset;
    return x < y ? -1 : x > y ? 1 : 0;
}

/* Those near the time from..to, and near each other, are fitted beside each other. */
static shot_status refine_near(finder *self, double from, double to) {
    surge_part *parts = self->parts;
    size_t first = 0, end = self->part_count;
    for (size_t i = 0; i < end && parts[i].candidate.opening.onset < from; i++)
        if (parts[i + 1].candidate.opening.onset - parts[i].candidate.opening.onset > beside)
            first = i + 1;
    for (size_t i = end; i-- > 1 && parts[i].candidate.opening.onset > to;)
        if (parts[i].candidate.opening.onset - parts[i - 1].candidate.opening.onset > beside)
            end = i;
    return surge_group_refine(&self->scan, parts + first, end - first);
}

/* Take those out that were found. */
static shot_status add_parts(finder *self, const surge_part *parts, size_t count) {
    const size_t all = self->part_count + count;
    surge_part *grown = realloc(self->parts, all * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    self->parts = grown;
    memcpy(grown + self->part_count, parts, count * sizeof *parts);
    for (size_t i = self->part_count; i < all; i++)
        surge_part_take_out(&self->scan, &grown[i]);
    self->part_count = all;
    qsort(grown, all, sizeof *grown, earlier_first);
    return refine_near(self, parts[0].candidate.opening.onset,
                       parts[count - 1].candidate.opening.onset);
}

static shot_status find_parts(finder *self) {
    const double room = fmax(0, (self->scan.to - self->scan.from) / surge_longest);
    const size_t most = (size_t)fmin(room, (double)self->scan.channels[0].data->n) + 1;
    for (size_t round = 0; round < most; round++) {
        surge_part parts[2];
        size_t count;
        SHOT_TRY(surge_scan_best(&self->scan, self->search->alarm_rate,
                                 least_loss / (1 - least_loss), accept, self, parts, &count));
        if (count == 0)
            return SHOT_OK;
        SHOT_TRY(add_parts(self, parts, count));
    }
    return SHOT_OK;
}

/* The larger one that a part belongs to; the count without any. */
static size_t owner_of(const finder *self, size_t part) {
    size_t i = 0;
    while (i < self->part_count &&
           (i == part || !surge_part_belongs_to(&self->parts[part], &self->parts[i])))
        i++;
    return i;
}

/* What was found as two and is one opening is one again. */
static shot_status join_parts(finder *self) {
    for (size_t i = 0; i < self->part_count;) {
        const size_t owner = owner_of(self, i);
        if (owner == self->part_count) {
            i++;
            continue;
        }
        surge_part whole = self->parts[owner];
        surge_part_put_back(&self->scan, &self->parts[i]);
        surge_part_put_back(&self->scan, &whole);
        surge_part_join(&self->parts[i], &whole);
        SHOT_TRY(surge_part_fit(&self->scan, &whole));
        self->parts[owner] = whole;
        self->part_count--;
        memmove(self->parts + i, self->parts + i + 1, (self->part_count - i) * sizeof *self->parts);
        i = 0;
    }
    return SHOT_OK;
}

/* ---- which are events ---- */

/* Where an opening lets the pressure fall, the bed relaxes for some seconds, and may let through as
 * much again as it did when it had opened, but not clearly more.  The figures are those of the log.
 */
static bool relaxes(const finder *self, const surge_part *part, const surge_part *earlier) {
    const conductance_data *data = self->scan.channels[0].data;
    const conductance_opening *a = &earlier->candidate.opening, *b = &part->candidate.opening;
    const double late = data->drains ? surge_longest_drain : 0;
    const double opened = a->onset + a->seconds, end = b->onset + b->seconds;
    double p0_se, p1_se, q0_se, q1_se;
    const double p0 = surge_mean_pressure(data, a->onset - shortly, a->onset, &p0_se);
    const double p1 = surge_mean_pressure(data, end, end + shortly, &p1_se);
    const double q0 =
        surge_mean_flow(data, opened + late - around / 2, opened + late + around / 2, &q0_se);
    const double q1 = surge_mean_flow(data, end + late, end + late + shortly, &q1_se);
    return b->onset > a->onset && b->onset < opened + surge_relaxing &&
           p1 < (1 - eased) * p0 - 2 * hypot(p0_se, p1_se) &&
           !((1 - least_loss) * q1 - q0 > 2 * hypot(q0_se, q1_se));
}

static bool is_event(const finder *self, const surge_part *part) {
    if (part->candidate.evidence.gain < 0 || /* pressure was lowered, unseen */
        surge_is_end_of_dip(self->scan.channels[0].data, &part->candidate.opening))
        return false;
    for (size_t i = 0; i < self->part_count; i++)
        if (surge_part_is_left_of(part, &self->parts[i]) || relaxes(self, part, &self->parts[i]))
            return false;
    return true;
}

typedef struct event {
    bool is;     /* one */
    double flow; /* before it */
} event;

/* By the figures of the log, with nothing taken out. */
static void choose_events(finder *self, event *events) {
    const conductance_data *data = self->scan.channels[0].data;
    double se;
    for (size_t i = 0; i < self->part_count; i++)
        surge_part_put_back(&self->scan, &self->parts[i]);
    for (size_t i = 0; i < self->part_count; i++)
        events[i] = (event){is_event(self, &self->parts[i]),
                            flow_until(data, self->parts[i].candidate.opening.onset, &se)};
    for (size_t i = 0; i < self->part_count; i++)
        surge_part_take_out(&self->scan, &self->parts[i]);
}

/* Each beside the others. */
static shot_status measure_all(finder *self, surge **out, size_t *found) {
    event *events = calloc(self->part_count + 1, sizeof *events);
    shot_status status = events != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        choose_events(self, events);
    for (size_t i = 0; i < self->part_count && status == SHOT_OK; i++) {
        surge one;
        if (!events[i].is)
            continue;
        surge_part_put_back(&self->scan, &self->parts[i]);
        status = surge_measure(&self->scan, &self->parts[i].candidate.opening, self->search->level,
                               &one);
        if (status == SHOT_OK && one.loss >= least_loss && is_quick(&one) &&
            stays_one(self, &one) && starts_from_flow(self, &one) &&
            surge_is_resolved(&self->scan, false, events[i].flow, &one))
            status = add(out, found, &one);
        surge_part_take_out(&self->scan, &self->parts[i]);
    }
    free(events);
    return status;
}

static shot_status find_all(finder *self, surge **out, size_t *found) {
    SHOT_TRY(find_parts(self));
    SHOT_TRY(join_parts(self));
    return measure_all(self, out, found);
}

/* No opening raises the pressure; but where somebody raises it the flow rises first, since the room
 * over the puck takes water.  A rise of one standard error is no proof, and reason enough to wait
 * for the next rows. */
static bool is_rising(const finder *self, double onset) {
    const conductance_data *data = self->scan.channels[0].data;
    const double end = data->t[data->n - 1] - data->lag, last = fmin(onset, end - lately);
    double before_se, after_se;
    const double before = surge_mean_pressure(data, last - 1, last, &before_se);
    const double after = surge_mean_pressure(data, end - lately, end, &after_se);
    return after - before > hypot(before_se, after_se);
}

/* What is seen of it.  An even ramp of the wrong shape is off by that share of its height, and so
 * of its length. */
static surge told_so_far(const surge_latest *best, double seconds) {
    const double from = best->opening.onset, loss_se = 1.96 * best->lost_se;
    const double shape = 1.96 * surge_misfit * best->opening.seconds;
    surge out = {.from = from, .to = from + seconds, .loss = best->lost};
    out.from_low = from - hypot(fmax(0, from - best->onset_low), shape);
    out.from_high = from + hypot(fmax(0, best->onset_high - from), shape);
    out.to_low = out.to_high = out.flow_rise = out.pressure_fall = NAN;
    out.loss_low = fmax(0, best->lost - loss_se);
    out.loss_high = fmin(1, best->lost + loss_se);
    return out;
}

/* While the shot runs: one, by its likeliest opening.  Under noise alone a Bayes factor reaches
 * 1 / rate no oftener than at that rate, whatever its wander (Markov's inequality).  What is not
 * accepted as an opening may look like others where it is seen in part, so that none of those is
 * taken in its place. */
static shot_status find_latest(finder *self, surge **out, size_t *found) {
    const surge_scan *scan = &self->scan;
    surge_latest best;
    conductance_data *channels[2];
    for (size_t k = 0; k < scan->channel_count; k++)
        channels[k] = scan->channels[k].data;
    SHOT_TRY(surge_latest_find(channels, scan->channel_count, scan->from, scan->to, &best));
    const double loss = best.gain / (1 + best.gain);
    const conductance_opening part = seen(self, &best.opening);
    if (best.evidence < -log(self->search->alarm_rate) || loss < least_told ||
        is_rising(self, best.opening.onset) || !accept(self, &best.opening) ||
        surge_is_end_of_dip(channels[0], &part))
        return SHOT_OK;
    const double from = best.opening.onset, length = best.opening.seconds;
    const surge whole = {.from = from, .to = from + length, .loss = loss};
    double se, flow = flow_until(channels[0], from, &se);
    if (!surge_is_resolved(&self->scan, true, flow, &whole))
        return SHOT_OK;
    const surge one = told_so_far(&best, part.seconds);
    return add(out, found, &one);
}

shot_status surges_find(conductance_data *const *channels, size_t count, const surge_search *search,
                        surge **out, size_t *found) {
    *out = NULL;
    *found = 0;
    if (count == 0)
        return SHOT_OK;
    const conductance_data *first = channels[0];
    finder self = {.search = search};
    shot_status status = find_drive(channels, count, &self.drive);
    if (status == SHOT_OK)
        status = surge_scan_new(
            channels, count, fmax(search->from, first->t[0] - first->lag + least),
            fmin(search->to, first->t[first->n - 1] - first->lag - least), &self.scan);
    self.scan.closes = first->blind;
    if (status == SHOT_OK)
        status = (search->running ? find_latest : find_all)(&self, out, found);
    surge_scan_free(&self.scan);
    free(self.drive);
    free(self.parts);
    if (status != SHOT_OK) {
        free(*out);
        *out = NULL;
        *found = 0;
    }
    return status;
}
