/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_envelope.h"

#include <math.h>

static double value_at(const line_cost *q, double v) {
    return q->a + v * (q->b + v * q->c);
}

static line_cost less(const line_cost *one, const line_cost *other) {
    return (line_cost){one->a - other->a, one->b - other->b, one->c - other->c};
}

/* Whether the least value of q lies between two places. */
static bool bottoms_within(const line_cost *q, double from, double to) {
    return q->c > 0 && q->b < -2 * q->c * from && q->b > -2 * q->c * to;
}

/* Whether `d`, not negative at `from`, falls under 0 before `to`: without a root or a division. */
static bool falls_within(const line_cost *d, double from, double to) {
    return value_at(d, to) < 0 || (bottoms_within(d, from, to) && d->b * d->b > 4 * d->a * d->c);
}

/* The first value beyond v at which `d` falls under 0; infinite if it never does. */
static double falls_at(const line_cost *d, double v) {
    double inside = d->b * d->b - 4 * d->a * d->c;
    if (!(inside > 0))
        return d->c == 0 && d->b < 0 && -d->a / d->b > v ? -d->a / d->b : INFINITY;
    double q = -0.5 * (d->b + copysign(sqrt(inside), d->b));
    double first = d->c != 0 ? q / d->c : -d->a / d->b, second = q != 0 ? d->a / q : first;
    double low = fmin(first, second), high = fmax(first, second);
    double wanted = d->c > 0 ? low : d->c < 0 ? high : d->b < 0 ? first : INFINITY;
    return wanted > v ? wanted : INFINITY;
}

/* Which cost is least at the lower end; count if none takes part. */
static size_t best_at_low(const line_envelope *e) {
    size_t best = e->count;
    double least = INFINITY;
    for (size_t i = 0; i < e->count; i++) {
        double here = value_at(&e->cost[i], e->low);
        if (here < least) {
            least = here;
            best = i;
        }
    }
    return best;
}

/* Which cost falls under cost[best] first beyond v, and where; count if none does. */
static size_t next_best(const line_envelope *e, size_t best, double v, double *where) {
    size_t next = e->count;
    *where = e->high;
    for (size_t i = 0; i < e->count; i++) {
        line_cost d = less(&e->cost[i], &e->cost[best]);
        if (!falls_within(&d, v, *where))
            continue;
        double there = falls_at(&d, v);
        if (there < *where) {
            *where = there;
            next = i;
        }
    }
    return next;
}

void line_envelope_find(line_envelope *envelope) {
    double v = envelope->low;
    size_t best = best_at_low(envelope);
    envelope->stretches = 0;
    while (best < envelope->count && envelope->stretches < 2 * envelope->count) {
        envelope->stretch[envelope->stretches++] = (line_stretch){v, best};
        best = next_best(envelope, best, v, &v);
    }
}

/* The stretch that holds v. */
static size_t stretch_at(const line_envelope *e, double v) {
    size_t low = 0, high = e->stretches;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (e->stretch[middle].from <= v)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static double least_between(const line_cost *q, double from, double to) {
    if (bottoms_within(q, from, to))
        return q->a - q->b * q->b / (4 * q->c);
    return fmin(value_at(q, from), value_at(q, to));
}

bool line_envelope_exceeded(const line_envelope *envelope, const line_cost *cost, double by) {
    double v = -cost->b / (2 * cost->c); /* most costs that are not above are not there */
    v = fmin(fmax(v, envelope->low), envelope->high);
    const line_stretch *here = &envelope->stretch[stretch_at(envelope, v)];
    if (value_at(cost, v) <= value_at(&envelope->cost[here->best], v) + by)
        return false;
    for (size_t k = 0; k < envelope->stretches; k++) {
        const line_stretch *s = &envelope->stretch[k];
        line_cost d = less(cost, &envelope->cost[s->best]);
        if (least_between(&d, s->from, k + 1 < envelope->stretches ? s[1].from : envelope->high) <=
            by)
            return false;
    }
    return true;
}
