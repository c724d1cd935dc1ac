/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/level_search.h"

#include <math.h>
#include <stdlib.h>

#include "room.h"

/* Last levels, from where the piece before ends up to `high`, that are reached best by a break. */
typedef struct piece {
    double high;
    size_t from; /* the break: samples before it */
} piece;

typedef struct pieces {
    piece *piece;
    size_t count, room;
} pieces;

typedef struct search {
    const double *sum, *power;
    const double *best; /* least cost of so many samples, each break paid for */
    double low;         /* the least level */
    pieces now, next;
} search;

static double cost(const search *s, size_t from, size_t to) {
    const double sum = s->sum[to] - s->sum[from];
    return s->power[to] - s->power[from] - sum * sum / (double)(to - from);
}

/* Put levels up to `high` behind the others; none if that is where these end. */
static shot_status add(search *s, size_t from, double high) {
    pieces *to = &s->next;
    if (!(high > (to->count > 0 ? to->piece[to->count - 1].high : s->low)))
        return SHOT_OK;
    if (to->count > 0 && to->piece[to->count - 1].from == from) {
        to->piece[to->count - 1].high = high;
        return SHOT_OK;
    }
    piece *more = room_for_more(to->piece, to->count, &to->room, 64, sizeof *more);
    if (more == NULL)
        return SHOT_ERR_MEMORY;
    to->piece = more;
    to->piece[to->count++] = (piece){.high = high, .from = from};
    return SHOT_OK;
}

/* Share a piece with a newer break.  From there on both add the same for each level m; before it
 * the older one had best[old] + sum over its samples of (y - m)^2, a parabola in m, and the newer
 * one best[newer]: the older one is the better about the parabola's middle. */
static shot_status share(search *s, const piece *old, size_t newer) {
    const double left = s->best[newer] - s->best[old->from] - cost(s, old->from, newer);
    if (!(left > 0))
        return add(s, newer, old->high);
    const double samples = (double)(newer - old->from);
    const double middle = (s->sum[newer] - s->sum[old->from]) / samples;
    const double reach = sqrt(left / samples);
    SHOT_TRY(add(s, newer, fmin(middle - reach, old->high)));
    SHOT_TRY(add(s, old->from, fmin(middle + reach, old->high)));
    return add(s, newer, old->high);
}

/* Let a break at `newer` take the levels for which it is the best. */
static shot_status open_break(search *s, size_t newer) {
    s->next.count = 0;
    for (size_t i = 0; i < s->now.count; i++)
        SHOT_TRY(share(s, &s->now.piece[i], newer));
    const pieces swap = s->now;
    s->now = s->next;
    s->next = swap;
    return SHOT_OK;
}

/* The break after which the first `to` samples cost least, the earliest of several. */
static size_t best_break(const search *s, size_t to, double *least) {
    size_t found = 0;
    *least = INFINITY;
    for (size_t i = 0; i < s->now.count; i++) {
        const size_t from = s->now.piece[i].from;
        const double here = s->best[from] + cost(s, from, to);
        if (here < *least || (here == *least && from < found)) {
            *least = here;
            found = from;
        }
    }
    return found;
}

/* The levels that can be one's mean. */
static void range_of(const double *sum, size_t n, double *low, double *high) {
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        *low = fmin(*low, sum[i + 1] - sum[i]);
        *high = fmax(*high, sum[i + 1] - sum[i]);
    }
    const double margin = 1e-6 * (*high - *low); /* for the rounding of running sums */
    *low -= margin > 0 ? margin : 1;
    *high += margin > 0 ? margin : 1;
}

shot_status level_search(const double *sum, const double *power, size_t n, double penalty,
                         size_t least, double *best, size_t *last) {
    search s = {.sum = sum, .power = power, .best = best};
    double high;
    range_of(sum, n, &s.low, &high);
    shot_status status = add(&s, 0, high);
    s.now = s.next;
    s.next = (pieces){0};
    best[0] = -penalty;
    for (size_t t = least; t <= n && status == SHOT_OK; t++) {
        const size_t newest = t - least;
        if (newest >= least)
            status = open_break(&s, newest);
        last[t] = best_break(&s, t, &best[t]);
        best[t] += penalty;
    }
    free(s.now.piece);
    free(s.next.piece);
    return status;
}
