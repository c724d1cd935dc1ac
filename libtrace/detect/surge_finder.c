/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges: the highest step of conductance that is one, taken out, and again. */
#include "detect/surge_finder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/surge_dip.h"
#include "detect/surge_group.h"
#include "detect/surge_latest.h"
#include "detect/surge_measure.h"
#include "detect/surge_resolved.h"
#include "detect/surge_rules.h"
#include "detect/surge_scan.h"
#include "detect/surge_shapes.h"

static const double least = 0.5;       /* s of samples before an onset, and behind it */
static const double least_told = 0.12; /* while the shot runs: noise that lasts looks like less */
static const double eased = 0.02;      /* change of ln(pressure): the load fell */
static const double lately = 0.3;      /* s over which it is at the end of a running shot */
typedef struct finder {
    surge_scan scan;
    surge_part *parts; /* found so far, and taken out of the figures; [part_count] */
    size_t part_count;
    const surge_search *search;
    surge_rules rules;
} finder;

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

static bool accept(const void *user, const conductance_opening *whole) {
    const finder *self = user;
    const conductance_opening part = surge_rules_seen(&self->rules, whole);
    return is_new(self, &part) && surge_rules_take(&self->rules, &part);
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

/* Those near that time, and near each other, are fitted beside each other. */
static shot_status refine_near(finder *self, double at) {
    surge_part *parts = self->parts;
    size_t first = 0, end = self->part_count;
    for (size_t i = 0; i + 1 < end && parts[i].candidate.opening.onset < at; i++)
        if (parts[i + 1].candidate.opening.onset - parts[i].candidate.opening.onset > surge_beside)
            first = i + 1;
    for (size_t i = end; i-- > 1 && parts[i].candidate.opening.onset > at;)
        if (parts[i].candidate.opening.onset - parts[i - 1].candidate.opening.onset > surge_beside)
            end = i;
    return surge_group_refine(&self->scan, parts + first, end - first);
}

static bool are_near(const surge_part *a, const surge_part *b) {
    return fabs(a->candidate.opening.onset - b->candidate.opening.onset) <= surge_beside;
}

/* Take those out that were found.  Those far from each other were fitted in the sight of each
 * other, and are fitted once more without. */
static shot_status take_out(finder *self, surge_part *parts, size_t count) {
    for (size_t i = 0; i < count; i++)
        surge_part_take_out(&self->scan, &parts[i]);
    for (size_t i = 0; i < count && count > 1 && !are_near(&parts[0], &parts[1]); i++) {
        surge_part_put_back(&self->scan, &parts[i]);
        SHOT_TRY(surge_part_fit(&self->scan, &parts[i]));
    }
    return SHOT_OK;
}

static shot_status add_parts(finder *self, surge_part *parts, size_t count) {
    const size_t all = self->part_count + count;
    surge_part *grown = realloc(self->parts, all * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    self->parts = grown;
    SHOT_TRY(take_out(self, parts, count));
    memcpy(grown + self->part_count, parts, count * sizeof *parts);
    self->part_count = all;
    qsort(grown, all, sizeof *grown, earlier_first);
    for (size_t i = 0; i < count; i++)
        if (i == 0 || !are_near(&parts[i], &parts[i - 1]))
            SHOT_TRY(refine_near(self, parts[i].candidate.opening.onset));
    return SHOT_OK;
}

static shot_status find_parts(finder *self) {
    const double room = fmax(0, (self->scan.to - self->scan.from) / surge_longest);
    const size_t most = (size_t)fmin(room, (double)self->scan.channels[0].data->n) + 1;
    for (size_t round = 0; round < most; round++) {
        surge_part parts[SURGE_AT_ONCE];
        size_t count;
        SHOT_TRY(surge_scan_best(&self->scan, self->search->alarm_rate,
                                 surge_least_loss / (1 - surge_least_loss), accept, self, parts,
                                 &count));
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
    const double p0 = surge_mean_pressure(data, a->onset - surge_shortly, a->onset, &p0_se);
    const double p1 = surge_mean_pressure(data, end, end + surge_shortly, &p1_se);
    const double q0 = surge_mean_flow(data, opened + late - surge_around / 2,
                                      opened + late + surge_around / 2, &q0_se);
    const double q1 = surge_mean_flow(data, end + late, end + late + surge_shortly, &q1_se);
    return b->onset > a->onset && b->onset < opened + surge_relaxing &&
           p1 < (1 - eased) * p0 - 2 * hypot(p0_se, p1_se) &&
           !((1 - surge_least_loss) * q1 - q0 > 2 * hypot(q0_se, q1_se));
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
                            surge_flow_until(data, self->parts[i].candidate.opening.onset, &se)};
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
        if (status == SHOT_OK && surge_rules_keep(&self->rules, &one) &&
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

/* What is seen of it; what it may take in all lies in the interval of the loss too.  An even ramp
 * of the wrong shape is off by that share of its height, and so of its length. */
static surge told_so_far(const surge_latest *best, double seconds) {
    const double from = best->opening.onset, loss_se = 1.96 * best->lost_se;
    const double shape = 1.96 * surge_misfit * best->opening.seconds;
    surge out = {.from = from, .to = from + seconds, .loss = best->lost};
    out.from_low = from - hypot(fmax(0, from - best->onset_low), shape);
    out.from_high = from + hypot(fmax(0, best->onset_high - from), shape);
    out.to_low = out.to_high = out.flow_rise = out.pressure_fall = NAN;
    out.loss_low = fmax(0, best->lost - loss_se);
    out.loss_high = fmin(1, fmax(best->lost + loss_se, best->whole_high));
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
    const conductance_opening part = surge_rules_seen(&self->rules, &best.opening);
    if (best.evidence < -log(self->search->alarm_rate) || loss < least_told ||
        is_rising(self, best.opening.onset) || !accept(self, &best.opening) ||
        surge_is_end_of_dip(channels[0], &part))
        return SHOT_OK;
    const double from = best.opening.onset, length = best.opening.seconds;
    const surge whole = {.from = from, .to = from + length, .loss = loss};
    double se, flow = surge_flow_until(channels[0], from, &se);
    if (!surge_is_resolved(&self->scan, true, flow, &whole))
        return SHOT_OK;
    const surge one = told_so_far(&best, part.seconds);
    return add(out, found, &one);
}

shot_status surges_find_near(conductance_data *const *channels, size_t count,
                             const surge_drive *drive, const surge_search *search, surge **out,
                             size_t *found) {
    *out = NULL;
    *found = 0;
    const conductance_data *first = channels[0];
    finder self = {.search = search};
    shot_status status =
        surge_scan_new(channels, count, fmax(search->from, first->t[0] - first->lag + least),
                       fmin(search->to, first->t[first->n - 1] - first->lag - least), &self.scan);
    self.scan.closes = first->blind;
    self.rules = (surge_rules){first, drive, self.scan.from, self.scan.to, search->running};
    if (status == SHOT_OK)
        status = (search->running ? find_latest : find_all)(&self, out, found);
    surge_scan_free(&self.scan);
    free(self.parts);
    if (status != SHOT_OK) {
        free(*out);
        *out = NULL;
        *found = 0;
    }
    return status;
}
