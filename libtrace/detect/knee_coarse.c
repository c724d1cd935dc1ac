/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees of a coarse log.
 *
 * The scan needs some samples on both sides of a knee and no other knee among them.  A log of two
 * or three samples a second has no room for that: each sample is nearly a slope of its own.  What
 * it can tell is at which samples the line from one to the next must turn.  So the broken line
 * through all samples loses its joints one after the other, the least needed first, until each that
 * is left lessens the sum of squares by more than noise does (backward elimination; Smith 1982,
 * 'Curve fitting and modeling with splines using statistical variable selection techniques', NASA
 * CR-166034). */
#include "detect/knee_coarse.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>

#include "detect/knee_list.h"

static const double COARSE = 0.2; /* s over which the slopes of a sharp knee are taken */
static const double APART = 0.5;  /* s: knees of one sign that lie nearer are one */
/* s: changes of one sign that follow each other within this time bend the channel together ... */
static const double TOGETHER = 2.5;
/* ... unless one of them is most of it: the root of a half, as between break and bend elsewhere. */
static const double MOST = 0.70710678118654752;
/* Stairs of a slow slope and figures that flicker make a chord no steeper. */
static const double LEAST_STEPS = 4;
/* Of the threshold in standard deviations: correlated noise strays further than white. */
static const double LEAP = 2;

enum { AROUND = 4 };  /* joints either way that feel the loss of one: each the next by 0.27 */
enum { ROUNDS = 10 }; /* the penalty is doubled so often */
enum { PLACES = 24 }; /* tried for a knee */

typedef struct elimination {
    const line_sums *sums;
    size_t *joint; /* [count] samples, the first and the last among them */
    size_t count;
    double *gain;  /* [count] by which each lessens the sum of squares */
    double *value; /* [count] of the broken line */
    double *work;  /* [2 count] */
} elimination;

/* A run of neighbouring joints of one sign, which the samples do not tell from one between them. */
typedef struct turn {
    size_t first, last; /* joints */
    double change, at;
} turn;

/* ---- the broken line ---- */

/* The sum of squares about the broken line through the joints `low` to `high` but `left_out`. */
static double squares_without(const elimination *self, size_t low, size_t high, size_t left_out) {
    double knot[2 * AROUND + 1], value[2 * AROUND + 1], work[2 * (2 * AROUND + 1)];
    size_t m = 0;
    for (size_t k = low; k <= high; k++)
        if (k != left_out)
            knot[m++] = self->sums->x[self->joint[k]];
    return line_sums_broken(self->sums, self->joint[low], self->joint[high] + 1, knot, m, value,
                            work);
}

static double gain_of(const elimination *self, size_t j) {
    const size_t low = j > AROUND ? j - AROUND : 0;
    const size_t high = j + AROUND < self->count ? j + AROUND : self->count - 1;
    return squares_without(self, low, high, j) - squares_without(self, low, high, self->count);
}

/* Take out the joints that gain less than the penalty and less than both neighbours. */
static bool sweep(elimination *self, double penalty) {
    size_t kept = 0;
    const size_t count = self->count;
    for (size_t j = 1; j + 1 < count; j++)
        self->gain[j] = gain_of(self, j);
    self->gain[0] = self->gain[count - 1] = INFINITY;
    for (size_t j = 0; j < count; j++) {
        const bool goes = self->gain[j] < penalty && self->gain[j] <= self->gain[j - 1] &&
                          self->gain[j] < self->gain[j + 1];
        if (!goes)
            self->joint[kept++] = self->joint[j];
    }
    self->count = kept;
    return kept < count;
}

static shot_status elimination_new(const line_sums *sums, elimination *out) {
    *out = (elimination){.sums = sums, .count = sums->n};
    out->joint = malloc(sums->n * sizeof *out->joint);
    out->gain = malloc(4 * sums->n * sizeof *out->gain);
    if (out->joint == NULL || out->gain == NULL) {
        free(out->joint);
        free(out->gain);
        return SHOT_ERR_MEMORY;
    }
    out->value = out->gain + sums->n;
    out->work = out->value + sums->n;
    for (size_t i = 0; i < sums->n; i++)
        out->joint[i] = i;
    return SHOT_OK;
}

static void elimination_free(elimination *self) {
    free(self->joint);
    free(self->gain);
}

/* The least needed first, or nearly: the penalty grows up to its height. */
static void eliminate(elimination *self, double penalty) {
    for (int round = ROUNDS; round >= 0; round--)
        while (self->count > 2 && sweep(self, ldexp(penalty, -round)))
            ;
    for (size_t j = 0; j < self->count; j++) /* the gains' room is free now */
        self->gain[j] = self->sums->x[self->joint[j]];
    line_sums_broken(self->sums, 0, self->sums->n, self->gain, self->count, self->value,
                     self->work);
}

/* ---- its turns ---- */

static double slope_to(const elimination *self, size_t j) {
    return (self->value[j] - self->value[j - 1]) / (self->gain[j] - self->gain[j - 1]);
}

static size_t find_turns(const elimination *self, turn *out) {
    size_t count = 0;
    for (size_t j = 1; j + 1 < self->count; j++) {
        const double change = slope_to(self, j + 1) - slope_to(self, j), at = self->gain[j];
        turn *last = count > 0 ? &out[count - 1] : NULL;
        if (last && last->last + 1 == j && self->joint[last->last] + 1 == self->joint[j] &&
            last->change * change > 0) {
            last->at = (last->at * last->change + at * change) / (last->change + change);
            last->change += change;
            last->last = j;
        } else {
            out[count++] = (turn){j, j, change, at};
        }
    }
    return count;
}

/* Is it most of the bend that it makes together with its neighbours of the same sign? */
static bool stands_alone(const turn *turns, size_t count, size_t i) {
    double all = fabs(turns[i].change);
    for (size_t k = i;
         k-- > 0 && turns[k].change * turns[i].change > 0 && turns[i].at - turns[k].at < TOGETHER;)
        all += fabs(turns[k].change);
    for (size_t k = i + 1;
         k < count && turns[k].change * turns[i].change > 0 && turns[k].at - turns[i].at < TOGETHER;
         k++)
        all += fabs(turns[k].change);
    return fabs(turns[i].change) >= MOST * all;
}

static bool is_known(const shot_knee *knees, size_t count, double at, double change,
                     double spacing) {
    for (size_t k = 0; k < count; k++)
        if ((knees[k].after - knees[k].before) * change > 0 &&
            fabs(knees[k].at - at) < fmax(APART, 1.5 * spacing))
            return true;
    return false;
}

/* ---- the place ---- */

/* The sum of squares with the turn at x. */
static double squares_at(const elimination *self, const turn *one, double x) {
    double knot[2 * AROUND + 1], value[2 * AROUND + 1], work[2 * (2 * AROUND + 1)];
    const size_t low = one->first > AROUND ? one->first - AROUND : 0;
    const size_t high = one->last + AROUND < self->count ? one->last + AROUND : self->count - 1;
    size_t m = 0;
    for (size_t k = low; k <= high; k++)
        if (k < one->first || k > one->last)
            knot[m++] = self->gain[k];
        else if (k == one->first)
            knot[m++] = x;
    return line_sums_broken(self->sums, self->joint[low], self->joint[high] + 1, knot, m, value,
                            work);
}

/* Of what lies between two samples they tell no more than the mean (knee_place.c). */
static void widen(shot_knee *knee, double unseen) {
    knee->low = knee->at - hypot(knee->at - knee->low, unseen);
    knee->high = knee->at + hypot(knee->high - knee->at, unseen);
}

/* Every place between the samples next to the turn counts by its likelihood. */
static void find_place(const elimination *self, const turn *one, double variance, double level,
                       shot_knee *out) {
    const double *x = self->sums->x;
    const double from = fmax(x[self->joint[one->first] - 1], self->gain[one->first - 1]);
    const double to = fmin(x[self->joint[one->last] + 1], self->gain[one->last + 1]);
    const double step = (to - from) / PLACES;
    double chance[PLACES], best = INFINITY, sum = 0, below = 0;
    for (int i = 0; i < PLACES; i++)
        best = fmin(best, chance[i] = squares_at(self, one, from + (i + 0.5) * step));
    for (int i = 0; i < PLACES; i++)
        sum += chance[i] = exp((best - chance[i]) / (2 * variance));
    out->low = out->at = out->high = to;
    for (int i = PLACES - 1; i >= 0; i--) {
        below += chance[i] / sum; /* from above */
        const double edge = from + (i + 1) * step;
        out->high = below <= 0.5 - level / 2 ? edge - step : out->high;
        out->at = below <= 0.5 ? edge - step : out->at;
        out->low = below < 0.5 + level / 2 ? edge - step : out->low;
    }
    out->low = fmax(out->low - step, from) + self->sums->x0;
    out->at -= 0.5 * step - self->sums->x0;
    out->high += self->sums->x0;
    widen(out, (to - from) / 2 / sqrt(12));
}

/* ---- all of it ---- */

/* The shorter of the intervals beside it: what two samples there can do to the change. */
static double interval_at(const elimination *self, const turn *one) {
    const double *x = self->sums->x;
    const size_t first = self->joint[one->first], last = self->joint[one->last];
    return fmin(x[first] - x[first - 1], x[last + 1] - x[last]);
}

/* What a turn must exceed.  Where samples come in pairs, as from a sensor that holds its figure,
 * they are not as coarse there. */
typedef struct limits {
    double change;  /* 1/s */
    double leap;    /* change times the interval beside it */
    double spacing; /* s */
} limits;

static bool is_large(const elimination *self, const turn *one, const limits *over) {
    const double interval = interval_at(self, one);
    return interval >= COARSE && fabs(one->change) >= over->change &&
           fabs(one->change) * interval >= over->leap;
}

static void add_turns(const elimination *self, const turn *turns, size_t count, const limits *over,
                      double variance, double level, shot_knee *knees, size_t *known) {
    const size_t before = *known;
    shot_knee *const added = knees + before;
    size_t more = 0;
    for (size_t i = 0; i < count; i++) {
        const turn *one = &turns[i];
        if (!is_large(self, one, over) || !stands_alone(turns, count, i) ||
            is_known(knees, before, one->at + self->sums->x0, one->change, over->spacing))
            continue;
        shot_knee *knee = &added[more++];
        *knee = (shot_knee){.before = slope_to(self, one->first),
                            .after = slope_to(self, one->last + 1),
                            .level_here = self->value[one->first] + self->sums->y0,
                            .change_low = NAN,
                            .change_high = NAN};
        find_place(self, one, variance, level, knee);
    }
    for (size_t i = 0; i < more; i++)
        knee_list_insert(added[i], knees, known);
}

shot_status shot_knee_coarse(const shot_channel_view *view, const line_sums *sums, double least,
                             double alarm_rate, double level, shot_knee *knees, size_t *count) {
    const double n = (double)view->n, spacing = view->noise.spacing;
    elimination line;
    if (spacing < COARSE || view->n < 5)
        return SHOT_OK;
    SHOT_TRY(elimination_new(sums, &line));
    turn *turns = malloc(sums->n * sizeof *turns);
    if (turns != NULL) {
        const double u = shot_student_quantile(1 - alarm_rate / 2 / n, 0.4 * n);
        const double variance = view->noise.sd * view->noise.sd * view->noise.inflation;
        const limits over = {
            2 * least,
            fmax(LEAST_STEPS * shot_channel_view_written_step(view), LEAP * u * view->noise.sd),
            spacing};
        eliminate(&line, u * u * variance);
        const size_t found = find_turns(&line, turns);
        add_turns(&line, turns, found, &over, variance, level, knees, count);
    }
    elimination_free(&line);
    free(turns);
    return turns ? SHOT_OK : SHOT_ERR_MEMORY;
}
