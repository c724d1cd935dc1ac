/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_envelope.h"
#include "signal/line_search.h"
#include "signal/line_sums.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>
#include <shottrace/signal/slope_partition.h>

enum { USUAL_PLACES = 300, USUAL_SAMPLES = 2 };
enum { SHORT = 3 }; /* breaks that are fitted anew before one goes */

/* One history of joints, the last at candidate `place`, whose cost is optimal for some value. */
typedef struct history {
    line_cost cost; /* the least up to the joint, as a function of the value at it */
    size_t place;
    size_t parent; /* index of the history up to the joint before */
    size_t until;  /* candidate from which on it is never the best */
} history;

typedef struct partition {
    const line_sums *sums;
    double penalty;
    size_t least;
    double low, high; /* values between which joints are sought */
    size_t *place;    /* samples that are candidates, the first and the last included [places] */
    size_t places;
    history *kept;
    size_t count, room;
    size_t running, running_room;
    size_t *runner;      /* the histories that may still be the best, rising [running] */
    line_cost *cost;     /* theirs at the current place; NaN where one cannot reach it [running] */
    unsigned char *best; /* whether they are for some value [running] */
    line_stretch *stretch; /* for the envelope [2 running] */
} partition;

static double least_of(const line_cost *q) {
    return q->c > 0 ? q->a - q->b * q->b / (4 * q->c) : q->a;
}

/* Continue a history with a straight piece to the sample at candidate `to`. */
static line_cost extend(const partition *self, const history *from, size_t to) {
    const line_sums *sums = self->sums;
    size_t begin = self->place[from->place], end = self->place[to];
    double left = sums->x[begin];
    line_moments m = line_sums_over(sums, from->place ? begin + 1 : 0, end + 1, left);
    return line_cost_rightward(&from->cost, &m, sums->x[end] - left);
}

static bool reaches(const partition *self, size_t from, size_t to) {
    size_t begin = self->place[from], end = self->place[to];
    size_t samples = from ? end - begin : end + 1;
    return samples >= self->least && self->sums->x[end] > self->sums->x[begin];
}

/* Make array hold `count` things of `size`; NULL (and array as it was) without memory. */
static void *grown(void *array, size_t room, size_t size) {
    return room > SIZE_MAX / size ? NULL : realloc(array, room * size);
}

/* Take in one history more, which runs from its place on. */
static shot_status keep(partition *self, const history *one) {
    if (self->count == self->room) {
        size_t room = self->room ? 2 * self->room : 1024;
        history *more = grown(self->kept, room, sizeof *more);
        if (!more)
            return SHOT_ERR_MEMORY;
        self->kept = more;
        self->room = room;
    }
    self->kept[self->count++] = *one;
    return SHOT_OK;
}

/* Let those that were kept since index `from` run too. */
static shot_status start(partition *self, size_t from) {
    size_t wanted = self->running + (self->count - from);
    if (wanted > self->running_room) {
        size_t room = 2 * wanted;
        size_t *runner = grown(self->runner, room, sizeof *runner);
        self->runner = runner ? runner : self->runner;
        line_cost *cost = grown(self->cost, room, sizeof *cost);
        self->cost = cost ? cost : self->cost;
        unsigned char *best = grown(self->best, room, 1);
        self->best = best ? best : self->best;
        line_stretch *stretch = grown(self->stretch, room, 2 * sizeof *stretch);
        self->stretch = stretch ? stretch : self->stretch;
        if (!runner || !cost || !best || !stretch)
            return SHOT_ERR_MEMORY;
        self->running_room = room;
    }
    for (size_t i = from; i < self->count; i++)
        self->runner[self->running++] = i;
    return SHOT_OK;
}

/* The costs at candidate `to`; histories that ended before it leave. */
static void run_to(partition *self, size_t to) {
    size_t running = 0;
    for (size_t i = 0; i < self->running; i++) {
        const history *h = &self->kept[self->runner[i]];
        if (h->until <= to)
            continue;
        bool here = reaches(self, h->place, to);
        self->runner[running] = self->runner[i];
        self->cost[running] = here ? extend(self, h, to) : (line_cost){NAN, NAN, NAN};
        self->best[running++] = 0;
    }
    self->running = running;
}

/* Where a history exceeds the least cost, for every value, by more than the price of a joint, a
 * joint here that goes on with the same line is the better way to whatever such a piece reaches:
 * the history ends there.  (The inequality of Killick, Fearnhead & Eckley 2012, 'Optimal detection
 * of changepoints with a linear computational cost', J. Am. Stat. Assoc. 107:1590-1598, theorem
 * 3.1, asked of the whole function, since neighbouring pieces share the value at their joint.) */
static void end_the_hopeless(partition *self, size_t here, const line_envelope *envelope) {
    size_t reached = here + 1;
    while (reached < self->places && !reaches(self, here, reached))
        reached++;
    for (size_t i = 0; i < self->running; i++) {
        history *h = &self->kept[self->runner[i]];
        if (!self->best[i] && isfinite(self->cost[i].a) && h->until > reached &&
            line_envelope_exceeded(envelope, &self->cost[i], self->penalty))
            h->until = reached;
    }
}

/* A joint at candidate `to`: the histories that are best for some value of the curve go on. */
static shot_status join_at(partition *self, size_t to) {
    run_to(self, to);
    line_envelope envelope = {.cost = self->cost,
                              .count = self->running,
                              .low = self->low,
                              .high = self->high,
                              .stretch = self->stretch};
    line_envelope_find(&envelope);
    if (envelope.stretches == 0)
        return SHOT_OK;
    for (size_t k = 0; k < envelope.stretches; k++)
        self->best[envelope.stretch[k].best] = 1;
    end_the_hopeless(self, to, &envelope);
    size_t before = self->count;
    for (size_t i = 0; i < self->running; i++) {
        history one = {self->cost[i], to, self->runner[i], self->places};
        one.cost.a += self->penalty;
        if (self->best[i])
            SHOT_TRY(keep(self, &one));
    }
    return start(self, before);
}

static shot_status run(partition *self) {
    SHOT_TRY(keep(self, &(history){.parent = SIZE_MAX, .until = self->places}));
    SHOT_TRY(start(self, 0));
    for (size_t to = 1; to + 1 < self->places; to++)
        SHOT_TRY(join_at(self, to));
    run_to(self, self->places - 1);
    return SHOT_OK;
}

/* The cheapest history up to the end, its joints in order of time. */
static shot_status trace_back(const partition *self, double **at, size_t *count, double *cost) {
    size_t best = self->running;
    for (size_t i = 0; i < self->running; i++)
        if (isfinite(self->cost[i].a) &&
            (best == self->running || least_of(&self->cost[i]) < least_of(&self->cost[best])))
            best = i;
    if (best == self->running)
        return SHOT_ERR_SINGULAR;
    if (cost)
        *cost = least_of(&self->cost[best]);
    size_t joints = 0, last = self->runner[best];
    for (size_t i = last; self->kept[i].place > 0; i = self->kept[i].parent)
        joints++;
    double *places = calloc(joints + 1, sizeof *places);
    if (!places)
        return SHOT_ERR_MEMORY;
    *count = joints;
    for (size_t i = last; self->kept[i].place > 0; i = self->kept[i].parent)
        places[--joints] = self->sums->x[self->place[self->kept[i].place]] + self->sums->x0;
    *at = places;
    return SHOT_OK;
}

/* Candidates spread evenly over the samples; of samples at one time only the last, which has them
 * all on its left. */
static shot_status choose_places(partition *self, size_t most) {
    const line_sums *sums = self->sums;
    self->place = calloc(sums->n < most ? sums->n : most, sizeof *self->place);
    if (!self->place)
        return SHOT_ERR_MEMORY;
    size_t wanted = sums->n < most ? sums->n : most;
    self->places = 1;
    for (size_t k = 1; k < wanted; k++) {
        size_t i = (size_t)((double)k * (double)(sums->n - 1) / (double)(wanted - 1) + 0.5);
        while (i + 1 < sums->n && sums->x[i + 1] == sums->x[i])
            i++;
        if (i > self->place[self->places - 1] &&
            sums->x[i] > sums->x[self->place[self->places - 1]])
            self->place[self->places++] = i;
    }
    return self->places < 2 ? SHOT_ERR_SINGULAR : SHOT_OK;
}

static void set_range(partition *self) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < self->sums->n; i++) {
        low = fmin(low, self->sums->y[i]);
        high = fmax(high, self->sums->y[i]);
    }
    double margin = 2 * (high - low) + sqrt(self->penalty);
    self->low = low - margin;
    self->high = high + margin;
}

shot_status shot_slope_partition_find(const double *t, const double *y, size_t n,
                                      const shot_slope_partition_options *options, double **at,
                                      size_t *count, double *cost) {
    *at = NULL;
    *count = 0;
    if (!options || !(options->penalty > 0) || !isfinite(options->penalty))
        return SHOT_ERR_RANGE;
    size_t most = options->most_places ? options->most_places : USUAL_PLACES;
    partition self = {.penalty = options->penalty};
    self.least = options->min_samples ? options->min_samples : USUAL_SAMPLES;
    line_sums *sums;
    SHOT_TRY(line_sums_new(t, y, NULL, n, &sums));
    self.sums = sums;
    shot_status status = sums->n < 2 || sums->n < self.least ? SHOT_ERR_SINGULAR : SHOT_OK;
    if (status == SHOT_OK)
        status = choose_places(&self, most < 2 ? 2 : most);
    if (status == SHOT_OK) {
        set_range(&self);
        status = run(&self);
    }
    if (status == SHOT_OK)
        status = trace_back(&self, at, count, cost);
    free(self.place);
    free(self.kept);
    free(self.runner);
    free(self.cost);
    free(self.best);
    free(self.stretch);
    line_sums_free(sums);
    return status;
}

/* ---- refined between the samples ---- */

/* A broken line that loses breaks: their places on the caller's clock, rising [count]. */
typedef struct loss {
    line_search *search;
    double *at, *trial, *kept; /* [count at the start] */
    size_t count;
    double rss;
} loss;

/* The least-squares fit from the given places, which follow it. */
static shot_status fit_from(line_search *search, double *place, size_t count, double *rss) {
    const line_sums *sums = search->sums;
    SHOT_TRY(line_search_from(search, place, count));
    if (!isfinite(line_search_cost(search, search->best)))
        return SHOT_ERR_SINGULAR;
    *rss = line_sums_residual(sums, search->knot, count + 2, search->value);
    for (size_t k = 0; k < count; k++)
        place[k] = search->best[k] + sums->x0;
    return SHOT_OK;
}

/* All breaks but number j. */
static void leave_out(const loss *self, size_t j, double *out) {
    memcpy(out, self->at, j * sizeof *out);
    memcpy(out + j, self->at + j + 1, (self->count - 1 - j) * sizeof *out);
}

/* The cost without break j, the others staying where they are. */
static double cost_without(loss *self, size_t j) {
    const double x0 = self->search->sums->x0;
    leave_out(self, j, self->trial);
    for (size_t k = 0; k + 1 < self->count; k++)
        self->trial[k] -= x0;
    self->search->count = self->count - 1;
    return line_search_cost(self->search, self->trial);
}

/* The breaks that cost least where nothing else moves, the best first; how many there are. */
static size_t shortlist(loss *self, size_t *list) {
    double cost[SHORT];
    size_t listed = 0;
    for (size_t j = 0; j < self->count; j++) {
        const double here = cost_without(self, j);
        size_t place = listed < SHORT ? listed++ : SHORT;
        for (; place > 0 && here < cost[place - 1]; place--)
            if (place < SHORT) {
                cost[place] = cost[place - 1];
                list[place] = list[place - 1];
            }
        if (place < SHORT) {
            cost[place] = here;
            list[place] = j;
        }
    }
    return listed;
}

/* The best fit without one of the breaks list[0..count-1], or of all where there is no list; into
 * self->kept. */
static double best_without(loss *self, const size_t *list, size_t count) {
    double least = INFINITY, rss;
    for (size_t i = 0; i < count; i++) {
        leave_out(self, list != NULL ? list[i] : i, self->trial);
        if (fit_from(self->search, self->trial, self->count - 1, &rss) != SHOT_OK || rss >= least)
            continue;
        least = rss;
        double *swap = self->kept;
        self->kept = self->trial;
        self->trial = swap;
    }
    return least;
}

/* Take out the break without which the fit is best, if it is not worth its penalty.  Few are fitted
 * anew, all only where none of these goes: a fit takes as long as there are breaks. */
static bool drop_one(loss *self, double penalty) {
    size_t list[SHORT];
    const size_t listed = shortlist(self, list);
    double least = best_without(self, list, listed);
    if (!(least <= self->rss + penalty) && listed < self->count)
        least = best_without(self, NULL, self->count);
    if (!(least <= self->rss + penalty))
        return false;
    self->count--;
    self->rss = least;
    memcpy(self->at, self->kept, self->count * sizeof *self->at);
    return true;
}

/* Move *count breaks from where the candidates are to where they fit best, and take out those that
 * do not pay for themselves. */
static shot_status refine(const line_sums *sums, double penalty, size_t min_samples, double *at,
                          size_t *count) {
    if (*count == 0 || sums->n < 3 + 2 * *count)
        return *count ? SHOT_ERR_SINGULAR : SHOT_OK;
    loss self = {.at = at, .count = *count};
    double *room = self.trial = calloc(2 * *count, sizeof *room);
    if (!room)
        return SHOT_ERR_MEMORY;
    self.kept = room + *count;
    shot_status status =
        line_search_new(sums, *count, min_samples ? min_samples : USUAL_SAMPLES, &self.search);
    if (status == SHOT_OK)
        status = fit_from(self.search, at, self.count, &self.rss);
    while (status == SHOT_OK && self.count > 0 && drop_one(&self, penalty))
        ;
    *count = self.count;
    line_search_free(self.search);
    free(room);
    return status;
}

shot_status shot_slope_partition_fit(const double *t, const double *y, size_t n,
                                     const shot_slope_partition_options *options,
                                     const shot_segmented_line_options *intervals,
                                     shot_segmented_line **out) {
    *out = NULL;
    double *at;
    size_t count;
    line_sums *sums;
    SHOT_TRY(shot_slope_partition_find(t, y, n, options, &at, &count, NULL));
    shot_status status = line_sums_new(t, y, intervals->weights, n, &sums);
    if (status == SHOT_OK)
        status = refine(sums, options->penalty, intervals->min_samples, at, &count);
    if (status == SHOT_OK)
        status = shot_segmented_line_fit(t, y, n, at, count, intervals, out);
    line_sums_free(sums);
    free(at);
    return status;
}

typedef struct bound {
    double path, rate;
} bound;

static double excess(double u, const void *context) {
    const bound *b = context;
    return 2 * shot_normal_tail(u) + b->path / acos(-1.0) * exp(-0.5 * u * u) - b->rate;
}

double shot_slope_partition_penalty(size_t n, double sd, double alarm_rate) {
    if (n <= 6 || !(sd >= 0) || !(alarm_rate > 0 && alarm_rate < 1))
        return NAN;
    bound b = {sqrt(3.0) * log((double)n / 2 - 1), alarm_rate};
    double u;
    if (shot_root_find(excess, &b, 0, 40, 0, &u) != SHOT_OK)
        return NAN;
    return sd * sd * u * u;
}
