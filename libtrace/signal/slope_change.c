/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the slope of a series changes. */
#include <shottrace/signal/slope_change.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>

enum { LEAST = 6, SIDE = 3 }; /* samples of an interval, and on either side of a bend in it */

/* Running sums over the samples before i, of times and values relative to the means of all. */
typedef struct sums {
    double t, tt, y, ty;
} sums;

typedef struct search {
    const double *t, *y;
    sums *before; /* [n + 1] */
    double t0, y0;
    size_t n;
    double variance, threshold;
    shot_slope_changes *found;
    size_t room;
} search;

/* The best bend of an interval. */
typedef struct bend {
    size_t at; /* the sample on which it lies */
    double gain;
} bend;

static void add_up(search *self) {
    for (size_t i = 0; i < self->n; i++) {
        self->t0 += self->t[i] / (double)self->n;
        self->y0 += self->y[i] / (double)self->n;
    }
    for (size_t i = 0; i < self->n; i++) {
        double t = self->t[i] - self->t0, y = self->y[i] - self->y0;
        const sums *b = &self->before[i];
        self->before[i + 1] = (sums){b->t + t, b->tt + t * t, b->y + y, b->ty + t * y};
    }
}

static sums between(const search *self, size_t begin, size_t end) {
    const sums *a = &self->before[begin], *b = &self->before[end];
    return (sums){b->t - a->t, b->tt - a->tt, b->y - a->y, b->ty - a->ty};
}

/* By how many noise variances a bend at sample `at` fits begin..end-1 better than a straight line:
 * the hinge h = max(t - t_at, 0), with the line taken out of it, against y likewise. */
static double gain_of(const search *self, size_t begin, size_t end, size_t at) {
    double m = (double)(end - begin), c = self->t[at] - self->t0;
    sums all = between(self, begin, end), right = between(self, at, end);
    double k = (double)(end - at);
    double h = right.t - k * c;
    double hh = right.tt - 2 * c * right.t + k * c * c;
    double ht = right.tt - c * right.t;
    double hy = right.ty - c * right.y;
    double stt = all.tt - all.t * all.t / m, sht = ht - h * all.t / m;
    double shh = hh - h * h / m, shy = hy - h * all.y / m;
    double sty = all.ty - all.t * all.y / m;
    if (!(stt > 0))
        return 0;
    double own = shh - sht * sht / stt, with = shy - sht * sty / stt;
    return own > 1e-9 * shh ? with * with / own / self->variance : 0;
}

static bend best_bend(const search *self, size_t begin, size_t end) {
    bend best = {0, 0};
    for (size_t at = begin + SIDE - 1; at + SIDE <= end; at++) {
        double gain = gain_of(self, begin, end, at);
        if (gain > best.gain)
            best = (bend){at, gain};
    }
    return best;
}

/* The best bend over the threshold among the intervals of `length` inside begin..end-1. */
static bend best_of_length(const search *self, size_t begin, size_t end, size_t length) {
    size_t step = length / 4 ? length / 4 : 1;
    bend best = {0, 0};
    for (size_t from = begin; from + length <= end; from += step) {
        bend one = best_bend(self, from, from + length);
        if (one.gain > self->threshold && one.gain > best.gain)
            best = one;
    }
    return best;
}

static bend narrowest(const search *self, size_t begin, size_t end) {
    size_t all = end - begin;
    for (double wanted = LEAST; wanted < (double)all * 1.5; wanted *= sqrt(2)) {
        size_t length = (size_t)wanted < all ? (size_t)wanted : all;
        bend best = best_of_length(self, begin, end, length);
        if (best.gain > 0 || length == all)
            return best;
    }
    return (bend){0, 0};
}

/* ---- settling: each bend judged between its neighbours ---- */

static size_t sample_at(const search *self, double time) {
    size_t low = 0, high = self->n;
    while (low + 1 < high) {
        size_t middle = (low + high) / 2;
        *(self->t[middle] <= time ? &low : &high) = middle;
    }
    return low;
}

/* Move bend i to its best place between its neighbours. */
static void settle_one(search *self, size_t i) {
    shot_slope_changes *found = self->found;
    size_t begin = i > 0 ? sample_at(self, found->at[i - 1]) : 0;
    size_t end = i + 1 < found->count ? sample_at(self, found->at[i + 1]) + 1 : self->n;
    bend one = end - begin >= LEAST ? best_bend(self, begin, end) : (bend){0, 0};
    found->gain[i] = one.gain;
    if (one.gain > 0)
        found->at[i] = self->t[one.at];
}

static void remove_one(shot_slope_changes *found, size_t i) {
    found->count--;
    for (; i < found->count; i++) {
        found->at[i] = found->at[i + 1];
        found->gain[i] = found->gain[i + 1];
    }
}

static size_t weakest(const shot_slope_changes *found) {
    size_t least = 0;
    for (size_t i = 1; i < found->count; i++)
        if (found->gain[i] < found->gain[least])
            least = i;
    return least;
}

/* A bend that was placed a little off leaves a second one beside it: with the places settled, the
 * second is no longer needed.  The weakest goes first, and the others settle anew. */
static void settle(search *self) {
    shot_slope_changes *found = self->found;
    while (found->count > 0) {
        for (int round = 0; round < 3; round++)
            for (size_t i = 0; i < found->count; i++)
                settle_one(self, i);
        size_t least = weakest(found);
        if (found->gain[least] > self->threshold)
            return;
        remove_one(found, least);
    }
}

/* ---- the search ---- */

static shot_status keep(search *self, const bend *one) {
    shot_slope_changes *found = self->found;
    if (found->count == self->room) {
        size_t room = self->room ? 2 * self->room : 16;
        double *at = realloc(found->at, room * sizeof *at);
        if (at != NULL)
            found->at = at;
        double *gain = realloc(found->gain, room * sizeof *gain);
        if (gain != NULL)
            found->gain = gain;
        if (at == NULL || gain == NULL)
            return SHOT_ERR_MEMORY;
        self->room = room;
    }
    found->at[found->count] = self->t[one->at];
    found->gain[found->count++] = one->gain;
    return SHOT_OK;
}

/* In order of time; the depth is that of the splits, log n for the usual and n/6 at worst. */
static shot_status search_part(search *self, size_t begin, size_t end) {
    if (end - begin < LEAST)
        return SHOT_OK;
    bend one = narrowest(self, begin, end);
    if (!(one.gain > 0))
        return SHOT_OK;
    SHOT_TRY(search_part(self, begin, one.at + 1));
    SHOT_TRY(keep(self, &one));
    return search_part(self, one.at, end);
}

shot_status shot_slope_changes_find(const double *t, const double *y, size_t n, double sd,
                                    double threshold, shot_slope_changes **out) {
    *out = NULL;
    if (!(sd > 0) || !(threshold > 0))
        return SHOT_ERR_RANGE;
    search self = {.t = t, .y = y, .n = n, .variance = sd * sd, .threshold = threshold};
    self.found = calloc(1, sizeof *self.found);
    self.before = calloc(n + 1, sizeof *self.before);
    shot_status status = self.found && self.before ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        add_up(&self);
        status = search_part(&self, 0, n);
    }
    if (status == SHOT_OK)
        settle(&self);
    free(self.before);
    if (status != SHOT_OK)
        shot_slope_changes_free(self.found);
    else
        *out = self.found;
    return status;
}

double shot_slope_threshold(size_t n, double alarm_rate) {
    double tests = (double)(n > 1 ? n : 1);
    double z = shot_normal_quantile(1 - alarm_rate / tests / 2);
    return z * z;
}

void shot_slope_changes_free(shot_slope_changes *changes) {
    if (changes == NULL)
        return;
    free(changes->at);
    free(changes->gain);
    free(changes);
}
