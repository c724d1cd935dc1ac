/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_sums.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>
#include <shottrace/signal/slope_partition.h>

enum { USUAL_PLACES = 300, USUAL_SAMPLES = 2 };

/* a + b v + c v^2: the least cost up to a joint, as a function of the value v at it. */
typedef struct quadratic {
    double a, b, c;
} quadratic;

/* One history of joints, the last at candidate `place`, whose cost is optimal for some value. */
typedef struct history {
    quadratic cost;
    size_t place;
    size_t parent; /* index of the history up to the joint before */
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
    quadratic *now; /* costs at the current place of the histories that may reach it [count] */
    size_t now_room;
} partition;

static double value_at(const quadratic *q, double v) {
    return q->a + v * (q->b + v * q->c);
}

static double least_of(const quadratic *q) {
    return q->c > 0 ? q->a - q->b * q->b / (4 * q->c) : q->a;
}

/* Continue a history with a straight piece to the sample at candidate `to`, the value at its last
 * joint chosen best: the cost there as a function of the value at the new joint. */
static quadratic extend(const partition *self, const history *from, size_t to) {
    const line_sums *sums = self->sums;
    size_t begin = self->place[from->place], end = self->place[to];
    double left = sums->x[begin], length = sums->x[end] - left;
    line_moments m = line_sums_over(sums, from->place ? begin + 1 : 0, end + 1, left);
    double u = m.x / length, uu = m.xx / (length * length), uy = m.xy / length;
    double aa = m.w - 2 * u + uu + from->cost.c, ab = u - uu, bb = uu;
    double a = m.y - uy - from->cost.b / 2, b = uy;
    /* from->cost.a + yy + aa p^2 + 2 ab p v + bb v^2 - 2 a p - 2 b v, least over p */
    return (quadratic){from->cost.a + m.yy - a * a / aa, -2 * (b - ab * a / aa), bb - ab * ab / aa};
}

static bool reaches(const partition *self, const history *from, size_t to) {
    const line_sums *sums = self->sums;
    size_t begin = self->place[from->place], end = self->place[to];
    size_t samples = from->place ? end - begin : end + 1;
    return samples >= self->least && sums->x[end] > sums->x[begin];
}

/* The first value beyond v at which `other` falls under `best`; infinite if it never does. */
static double crossing(const quadratic *best, const quadratic *other, double v) {
    double a = other->a - best->a, b = other->b - best->b, c = other->c - best->c;
    double inside = b * b - 4 * a * c;
    if (!(inside > 0))
        return c == 0 && b < 0 && -a / b > v ? -a / b : INFINITY;
    double q = -0.5 * (b + copysign(sqrt(inside), b));
    double first = c != 0 ? q / c : -a / b, second = q != 0 ? a / q : first;
    double low = fmin(first, second), high = fmax(first, second);
    double wanted = c > 0 ? low : c < 0 ? high : b < 0 ? first : INFINITY; /* it falls here */
    return wanted > v ? wanted : INFINITY;
}

/* Mark in `on` (zeroed, [count]) the costs of `now` that are least for some value. */
static void lower_envelope(const partition *self, size_t count, unsigned char *on) {
    double v = self->low;
    size_t best = count;
    for (size_t i = 0; i < count; i++)
        if (isfinite(self->now[i].a) &&
            (best == count || value_at(&self->now[i], v) < value_at(&self->now[best], v)))
            best = i;
    while (best < count && v < self->high && !on[best]) {
        on[best] = 1;
        size_t next = count;
        double where = INFINITY;
        for (size_t i = 0; i < count; i++) {
            double there = on[i] || !isfinite(self->now[i].a)
                               ? INFINITY
                               : crossing(&self->now[best], &self->now[i], v);
            if (there < where) {
                where = there;
                next = i;
            }
        }
        v = where;
        best = where < self->high ? next : count;
    }
}

static shot_status keep(partition *self, const history *one) {
    if (self->count == self->room) {
        size_t room = self->room ? 2 * self->room : 1024;
        history *more = realloc(self->kept, room * sizeof *more);
        if (!more)
            return SHOT_ERR_MEMORY;
        self->kept = more;
        self->room = room;
    }
    self->kept[self->count++] = *one;
    return SHOT_OK;
}

/* The costs at candidate `to` of all histories so far; NaN where one cannot reach it. */
static shot_status costs_at(partition *self, size_t to) {
    if (self->now_room < self->room) {
        quadratic *more = realloc(self->now, self->room * sizeof *more);
        if (!more)
            return SHOT_ERR_MEMORY;
        self->now = more;
        self->now_room = self->room;
    }
    for (size_t i = 0; i < self->count; i++)
        self->now[i] = reaches(self, &self->kept[i], to) ? extend(self, &self->kept[i], to)
                                                         : (quadratic){NAN, NAN, NAN};
    return SHOT_OK;
}

/* A joint at every candidate, with the histories that are best for some value of the curve. */
static shot_status run(partition *self) {
    SHOT_TRY(keep(self, &(history){.parent = SIZE_MAX}));
    for (size_t to = 1; to + 1 < self->places; to++) {
        SHOT_TRY(costs_at(self, to));
        size_t count = self->count;
        unsigned char *on = calloc(count, 1);
        if (!on)
            return SHOT_ERR_MEMORY;
        lower_envelope(self, count, on);
        shot_status status = SHOT_OK;
        for (size_t i = 0; i < count && status == SHOT_OK; i++) {
            history one = {self->now[i], to, i};
            one.cost.a += self->penalty;
            if (on[i])
                status = keep(self, &one);
        }
        free(on);
        SHOT_TRY(status);
    }
    return costs_at(self, self->places - 1);
}

/* The cheapest history up to the end, its joints in order of time. */
static shot_status trace_back(const partition *self, double **at, size_t *count, double *cost) {
    size_t best = self->count;
    for (size_t i = 0; i < self->count; i++)
        if (isfinite(self->now[i].a) &&
            (best == self->count || least_of(&self->now[i]) < least_of(&self->now[best])))
            best = i;
    if (best == self->count)
        return SHOT_ERR_SINGULAR;
    if (cost)
        *cost = least_of(&self->now[best]);
    size_t joints = 0;
    for (size_t i = best; self->kept[i].place > 0; i = self->kept[i].parent)
        joints++;
    double *places = calloc(joints + 1, sizeof *places);
    if (!places)
        return SHOT_ERR_MEMORY;
    *count = joints;
    for (size_t i = best; self->kept[i].place > 0; i = self->kept[i].parent)
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
    free(self.now);
    line_sums_free(sums);
    return status;
}

/* ---- refined between the samples ---- */

typedef struct series {
    const double *t, *y;
    size_t n;
} series;

/* The fit without break j of `line`, standard errors only. */
static shot_status fit_without(const series *s, const shot_segmented_line *line, size_t j,
                               const shot_segmented_line_options *intervals, double *room,
                               shot_segmented_line **out) {
    shot_segmented_line_options quick = *intervals;
    quick.interval = SHOT_INTERVAL_WALD;
    size_t kept = 0;
    for (size_t k = 0; k < line->count; k++)
        if (k != j)
            room[kept++] = line->breaks[k].at;
    return shot_segmented_line_fit(s->t, s->y, s->n, room, kept, &quick, out);
}

/* Replace *line by the best fit with one break less, if that is worth it. */
static shot_status drop_one(const series *s, double penalty,
                            const shot_segmented_line_options *intervals, double *room,
                            shot_segmented_line **line, bool *dropped) {
    shot_segmented_line *best = NULL;
    for (size_t j = 0; j < (*line)->count; j++) {
        shot_segmented_line *one;
        shot_status status = fit_without(s, *line, j, intervals, room, &one);
        if (status == SHOT_ERR_MEMORY) {
            shot_segmented_line_free(best);
            return status;
        }
        bool better = status == SHOT_OK && (!best || one->rss < best->rss);
        shot_segmented_line_free(better ? best : one);
        if (better)
            best = one;
    }
    *dropped = best && best->rss <= (*line)->rss + penalty;
    shot_segmented_line_free(*dropped ? *line : best);
    if (*dropped)
        *line = best;
    return SHOT_OK;
}

static shot_status refine(const series *s, double penalty, double *at, size_t count,
                          const shot_segmented_line_options *intervals, shot_segmented_line **out) {
    shot_segmented_line_options quick = *intervals;
    quick.interval = SHOT_INTERVAL_WALD;
    shot_segmented_line *line;
    SHOT_TRY(shot_segmented_line_fit(s->t, s->y, s->n, at, count, &quick, &line));
    shot_status status = SHOT_OK;
    for (bool more = true; status == SHOT_OK && more && line->count > 0;)
        status = drop_one(s, penalty, &quick, at, &line, &more);
    count = line->count;
    for (size_t j = 0; j < count; j++)
        at[j] = line->breaks[j].at;
    shot_segmented_line_free(line);
    return status == SHOT_OK ? shot_segmented_line_fit(s->t, s->y, s->n, at, count, intervals, out)
                             : status;
}

shot_status shot_slope_partition_fit(const double *t, const double *y, size_t n,
                                     const shot_slope_partition_options *options,
                                     const shot_segmented_line_options *intervals,
                                     shot_segmented_line **out) {
    *out = NULL;
    double *at;
    size_t count;
    SHOT_TRY(shot_slope_partition_find(t, y, n, options, &at, &count, NULL));
    const series s = {t, y, n};
    shot_status status = refine(&s, options->penalty, at, count, intervals, out);
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
