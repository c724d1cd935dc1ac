/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_corner.h"

#include <math.h>
#include <string.h>

/* What lies on both sides of one break, which is knot k, and the best place for it so far. */
typedef struct corner {
    const line_search *search;
    size_t k;
    line_cost left, right; /* cost as a function of the value at knot k - 1, k + 1 */
    double at, least;
} corner;

/* The break at x, of the samples the first `cut` left of it. */
typedef struct break_here {
    double cost;
    double gap; /* the line that is best for the left side alone less that of the right, at x */
} break_here;

static bool leaves_enough(const corner *c, size_t cut) {
    const line_search *s = c->search;
    return cut >= s->cut[c->k - 1] + s->min_samples && s->cut[c->k + 1] >= cut + s->min_samples;
}

static break_here break_at(const corner *c, double x, size_t cut) {
    const line_search *s = c->search;
    const double *knot = s->knot + c->k;
    line_moments before = line_sums_over(s->sums, s->cut[c->k - 1], cut, knot[-1]);
    line_moments after = line_sums_over(s->sums, cut, s->cut[c->k + 1], x);
    line_cost l = line_cost_rightward(&c->left, &before, x - knot[-1]);
    line_cost r = line_cost_leftward(&c->right, &after, knot[1] - x);
    double b = l.b + r.b;
    return (break_here){.cost = l.a + r.a - b * b / (4 * (l.c + r.c)),
                        .gap = r.b / (2 * r.c) - l.b / (2 * l.c)};
}

static void keep_lower(corner *c, double x, double cost) {
    const double *knot = c->search->knot + c->k;
    if (cost < c->least && x > knot[-1] && x < knot[1]) {
        c->least = cost;
        c->at = x;
    }
}

/* Where the best is at the end b, a sample that one of the sides must not have, there is no best
 * place: one that the clock still tells from b stands for it. */
static void try_open_end(corner *c, double b, size_t cut) {
    const line_sums *sums = c->search->sums;
    if (leaves_enough(c, line_sums_index_near(sums, b, cut)))
        return;
    double inside = b - 1e-9 * (b - sums->x[cut - 1]);
    keep_lower(c, inside, break_at(c, inside, cut).cost);
}

/* Try places a < b, between which no sample lies, `cut` of all samples being at a or before. */
static void try_cell(corner *c, double a, double b, size_t cut) {
    if (!leaves_enough(c, cut))
        return;
    break_here low = break_at(c, a, cut), high = break_at(c, b, cut);
    keep_lower(c, a, low.cost);
    if (high.cost < c->least)
        try_open_end(c, b, cut);
    if (!(low.gap * high.gap < 0))
        return;
    double cross = a + (b - a) * (low.gap / (low.gap - high.gap));
    if (cross > a && cross < b)
        keep_lower(c, cross, break_at(c, cross, cut).cost);
}

/* The two distinct samples on either side of x, with x between them, rising: at most five places.
 */
static size_t places_around(const line_sums *sums, double x, size_t after, double place[5]) {
    size_t count = 0, lefts = 0;
    double left[2];
    for (size_t i = after; i > 0 && lefts < 2; i--)
        if (sums->x[i - 1] < (lefts ? left[0] : x))
            left[lefts++] = sums->x[i - 1];
    while (lefts > 0)
        place[count++] = left[--lefts];
    place[count++] = x;
    size_t most = count + 2;
    for (size_t i = after; i < sums->n && count < most; i++)
        if (sums->x[i] > place[count - 1])
            place[count++] = sums->x[i];
    return count;
}

/* The best place around knot k, into c->at. */
static void search_around(corner *c) {
    const line_search *s = c->search;
    double here = s->knot[c->k], around[5];
    size_t count = places_around(s->sums, here, s->cut[c->k], around);
    c->at = here;
    c->least = break_at(c, here, s->cut[c->k]).cost * LINE_SEARCH_ENOUGH;
    for (size_t i = 0; i < count; i++) {
        size_t cut = line_sums_index_near(s->sums, around[i], s->cut[c->k]);
        if (i + 1 < count)
            try_cell(c, around[i], around[i + 1], cut);
        else if (leaves_enough(c, cut))
            keep_lower(c, around[i], break_at(c, around[i], cut).cost);
    }
}

static line_moments piece_before(const line_search *s, size_t k) {
    return line_sums_over(s->sums, s->cut[k - 1], s->cut[k], s->knot[k - 1]);
}

/* beyond[k]: the cost of all samples right of knot k as a function of the value at it. */
static void hand_leftward(line_search *s) {
    size_t last = s->count + 1;
    s->beyond[last] = (line_cost){0, 0, 0};
    for (size_t k = last; k > 1; k--) {
        line_moments m = piece_before(s, k);
        s->beyond[k - 1] = line_cost_leftward(&s->beyond[k], &m, s->knot[k] - s->knot[k - 1]);
    }
}

/* One turn over the breaks, the places in s->knot; whether one moved. */
static bool turn(line_search *s, size_t held) {
    bool moved = false;
    corner c = {.search = s};
    hand_leftward(s);
    for (c.k = 1; c.k <= s->count; c.k++) {
        size_t j = c.k - 1;
        if (j > 0) {
            line_moments m = piece_before(s, j);
            c.left = line_cost_rightward(&c.left, &m, s->knot[j] - s->knot[j - 1]);
        }
        if (j == held || (held != LINE_SEARCH_NONE && j + 1 != held && j != held + 1))
            continue;
        c.right = s->beyond[c.k + 1];
        search_around(&c);
        moved = moved || c.at != s->knot[c.k];
        s->knot[c.k] = c.at;
        s->cut[c.k] = line_sums_index_near(s->sums, c.at, s->cut[c.k]);
    }
    return moved;
}

bool line_corner_descend(line_search *search, double *place, double *cost, size_t held) {
    if (!isfinite(line_search_cost(search, place)) || !turn(search, held))
        return false;
    memcpy(search->trial, search->knot + 1, search->count * sizeof *place);
    double there = line_search_cost(search, search->trial);
    if (!(there < *cost * LINE_SEARCH_ENOUGH))
        return false;
    memcpy(place, search->trial, search->count * sizeof *place);
    *cost = there;
    return true;
}
