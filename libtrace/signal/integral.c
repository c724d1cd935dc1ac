/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running integral.  The last two (degree 1) or four (degree 3) samples of the stretch between
 * gaps are held; when they are complete the interval in their midst is integrated, at the ends of a
 * stretch the others too. */
#include <shottrace/signal/integral.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/correlated_variance.h"

enum { MOST_POINTS = 4 };

typedef struct point {
    double t, y;
    double weight; /* by which y counts in the integral so far */
    size_t result; /* its place in `results` */
} point;

typedef struct result {
    shot_integral_at at;
    bool known;
} result;

struct shot_integral {
    shot_integral_rule rule;
    size_t points; /* held when complete: degree + 1 */
    point held[MOST_POINTS];
    size_t count;               /* of `held` */
    size_t done;                /* held[0..done-1] have their integral */
    double total;               /* integral up to held[done - 1] */
    correlated_variance closed; /* of the samples before held[0] */
    double last;                /* time of the last sample pushed */
    bool begun;                 /* there was a sample */
    result *results;            /* [room], those from `head` to `tail` wait to be asked for */
    size_t room, head, tail;
};

shot_status shot_integral_new(const shot_integral_rule *rule, shot_integral **out) {
    *out = NULL;
    if ((rule->degree != 1 && rule->degree != 3) || !(rule->longest > 0))
        return SHOT_ERR_RANGE;
    shot_integral *integral = calloc(1, sizeof *integral);
    if (integral == NULL)
        return SHOT_ERR_MEMORY;
    integral->rule = *rule;
    integral->points = (size_t)rule->degree + 1;
    *out = integral;
    return SHOT_OK;
}

void shot_integral_free(shot_integral *integral) {
    if (integral != NULL)
        free(integral->results);
    free(integral);
}

void shot_integral_reset(shot_integral *integral) {
    integral->count = integral->done = 0;
    integral->total = 0;
    integral->closed = (correlated_variance){0};
    integral->begun = false;
    integral->head = integral->tail = 0;
}

/* A place for one more result: those that wait move to the front where that frees half of the room,
 * which moves each a bounded number of times. */
static shot_status make_room(shot_integral *integral) {
    if (integral->tail < integral->room)
        return SHOT_OK;
    const size_t head = integral->head;
    if (head > integral->room / 2) {
        memmove(integral->results, integral->results + head,
                (integral->tail - head) * sizeof *integral->results);
        integral->tail -= head;
        integral->head = 0;
        for (size_t i = integral->done; i < integral->count; i++)
            integral->held[i].result -= head;
        return SHOT_OK;
    }
    const size_t room = integral->room == 0 ? 16 : 2 * integral->room;
    result *results = room > SIZE_MAX / sizeof *results
                          ? NULL
                          : realloc(integral->results, room * sizeof *results);
    if (results == NULL)
        return SHOT_ERR_MEMORY;
    integral->results = results;
    integral->room = room;
    return SHOT_OK;
}

/* The value at x of the polynomial that is 1 at point `one` and 0 at the others. */
static double lagrange(const shot_integral *integral, size_t one, double x) {
    double product = 1;
    for (size_t j = 0; j < integral->count; j++)
        if (j != one)
            product *= (x - integral->held[j].t) / (integral->held[one].t - integral->held[j].t);
    return product;
}

/* Add the integral from held[i - 1] to held[i] of the polynomial through all points held, by the
 * Gauss-Legendre rule of two nodes, which is exact for cubics. */
static void integrate(shot_integral *integral, size_t i) {
    static const double NODE = 0.57735026918962576451; /* 1 / sqrt 3 */
    const double from = integral->held[i - 1].t, half = (integral->held[i].t - from) / 2;
    for (size_t j = 0; j < integral->count; j++) {
        const double weight = half * (lagrange(integral, j, from + half * (1 - NODE)) +
                                      lagrange(integral, j, from + half * (1 + NODE)));
        integral->held[j].weight += weight;
        integral->total += weight * integral->held[j].y;
    }
}

static void add_to(correlated_variance *sum, const shot_integral *integral, const point *one) {
    correlated_variance_add(sum, one->t, one->weight, integral->rule.correlation);
}

static double gain_of(const shot_integral *integral) {
    correlated_variance sum = integral->closed;
    for (size_t i = 0; i < integral->count; i++)
        add_to(&sum, integral, &integral->held[i]);
    return sum.total;
}

/* The integral at held[0..end-1] is known. */
static void settle(shot_integral *integral, size_t end) {
    for (; integral->done < end; integral->done++) {
        const size_t i = integral->done;
        if (i > 0)
            integrate(integral, i);
        result *known = &integral->results[integral->held[i].result];
        known->at.value = integral->total;
        known->at.gain = isnan(integral->total) ? NAN : gain_of(integral);
        known->known = true;
    }
}

static void drop_first(shot_integral *integral) {
    add_to(&integral->closed, integral, &integral->held[0]);
    integral->count--;
    integral->done--;
    memmove(integral->held, integral->held + 1, integral->count * sizeof *integral->held);
}

/* A stretch ends: what is held is all that its last intervals will get. */
static void end_stretch(shot_integral *integral) {
    settle(integral, integral->count);
    while (integral->count > 1)
        drop_first(integral);
}

/* From the last sample of a stretch, the only one held, to the first of the next. */
static void cross_gap(shot_integral *integral, point *next) {
    const double half = (next->t - integral->held[0].t) / 2;
    if (integral->rule.bridge) {
        integral->held[0].weight += half;
        next->weight = half;
        integral->total += half * (integral->held[0].y + next->y);
    } else {
        integral->total = NAN;
    }
    drop_first(integral);
}

static void add_point(shot_integral *integral, point next) {
    const bool gap = integral->count > 0 &&
                     next.t - integral->held[integral->count - 1].t > integral->rule.longest;
    if (gap) {
        end_stretch(integral);
        integral->results[next.result].at.gap = next.t - integral->held[0].t;
        cross_gap(integral, &next);
    } else if (integral->count == integral->points) {
        drop_first(integral);
    }
    integral->held[integral->count++] = next;
    if (integral->count == 1)
        settle(integral, 1);
    if (integral->count == integral->points)
        settle(integral, integral->points / 2 + 1);
}

shot_status shot_integral_push(shot_integral *integral, double t, double y) {
    if (!isfinite(t) || (integral->begun && t <= integral->last))
        return SHOT_ERR_DATA;
    SHOT_TRY(make_room(integral));
    integral->begun = true;
    integral->last = t;
    const size_t place = integral->tail++;
    integral->results[place] = (result){{NAN, NAN, 0}, isnan(y)};
    if (!isnan(y))
        add_point(integral, (point){t, y, 0, place});
    else if (integral->count > 0 &&
             t - integral->held[integral->count - 1].t > integral->rule.longest)
        end_stretch(integral);
    return SHOT_OK;
}

void shot_integral_finish(shot_integral *integral) {
    settle(integral, integral->count);
}

bool shot_integral_next(shot_integral *integral, shot_integral_at *at) {
    if (integral->head == integral->tail || !integral->results[integral->head].known)
        return false;
    *at = integral->results[integral->head++].at;
    return true;
}
