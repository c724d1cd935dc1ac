/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_search.h"
#include "signal/line_corner.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SCAN_LIMIT 512 /* places tried for one break over the whole span */
#define ROUNDS     100 /* descent always ends before, by its tolerance; a bound for odd data */

shot_status line_search_new(const line_sums *sums, size_t count, size_t min_samples,
                            line_search **out) {
    *out = NULL;
    line_search *s = calloc(1, sizeof *s);
    if (!s)
        return SHOT_ERR_MEMORY;
    double *room = s->knot = calloc(5 * count + 4 * (count + 2), sizeof *room);
    s->cut = calloc(count + 2, sizeof *s->cut);
    s->beyond = calloc(count + 2, sizeof *s->beyond);
    if (!room || !s->cut || !s->beyond) {
        line_search_free(s);
        return SHOT_ERR_MEMORY;
    }
    s->sums = sums;
    s->capacity = count;
    s->min_samples = min_samples;
    s->value = s->knot + count + 2;
    s->work = s->value + count + 2;
    s->best = s->work + 2 * (count + 2);
    s->trial = s->best + count;
    s->step = s->trial + count;
    s->profile = s->step + count;
    s->kept = s->profile + count;
    s->best_cost = INFINITY;
    *out = s;
    return SHOT_OK;
}

void line_search_free(line_search *search) {
    if (!search)
        return;
    free(search->knot);
    free(search->cut);
    free(search->beyond);
    free(search);
}

/* Set knot and cut; false where the places do not rise or leave a piece too short. */
static bool set_knots(line_search *s, const double *place) {
    const line_sums *sums = s->sums;
    size_t count = s->count;
    s->knot[0] = sums->x[0];
    s->cut[0] = 0;
    for (size_t k = 1; k <= count + 1; k++) {
        s->knot[k] = k <= count ? place[k - 1] : sums->x[sums->n - 1];
        s->cut[k] = k <= count ? line_sums_index_near(sums, place[k - 1], s->cut[k]) : sums->n;
        if (!(s->knot[k] > s->knot[k - 1]) || s->cut[k] < s->cut[k - 1] + s->min_samples)
            return false;
    }
    return true;
}

double line_search_cost(line_search *search, const double *place) {
    if (!set_knots(search, place))
        return INFINITY;
    return line_sums_broken_at(search->sums, search->cut, search->knot, search->count + 2,
                               search->value, search->work);
}

/* A line by its value at x = 0 and its slope. */
typedef struct free_line {
    double level, slope;
} free_line;

/* The free line of piece k, or, beside the break that is held, of both pieces joined at it. */
static bool lines_beside(const line_search *s, size_t k, size_t held, free_line line[2]) {
    const size_t *cut = s->cut + k;
    const double *knot = s->knot + k;
    if (k != held) {
        line_fit fit;
        if (!line_sums_line(s->sums, cut[0], cut[1], &fit))
            return false;
        line[0] = (free_line){fit.level - fit.slope * fit.mean_x, fit.slope};
        return true;
    }
    double value[3], work[6];
    if (!isfinite(line_sums_broken_at(s->sums, cut, knot, 3, value, work)))
        return false;
    for (int i = 0; i < 2; i++) {
        line[i].slope = (value[i + 1] - value[i]) / (knot[i + 1] - knot[i]);
        line[i].level = value[i] - line[i].slope * knot[i];
    }
    return true;
}

/* The Gauss-Newton step of every break but the held one, into s->step: to the crossing of the free
 * lines on both sides. */
static bool newton_step(line_search *s, const double *place, size_t held) {
    free_line before = {0, 0}, line[2];
    if (!set_knots(s, place))
        return false;
    for (size_t k = 0; k <= s->count; k++) {
        if (!lines_beside(s, k, held, line))
            return false;
        if (k > 0)
            s->step[k - 1] =
                -(line[0].level - before.level) / (line[0].slope - before.slope) - place[k - 1];
        before = line[0];
        if (k == held) {
            s->step[k++] = 0;
            before = line[1];
        }
    }
    for (size_t k = 0; k < s->count; k++)
        if (!isfinite(s->step[k]))
            return false;
    return true;
}

/* Take as much of the step as lowers the cost. */
static bool descend_newton(line_search *s, double *place, double *cost, size_t held) {
    if (!newton_step(s, place, held))
        return false;
    for (double part = 1; part > 1e-3; part /= 2) {
        for (size_t k = 0; k < s->count; k++)
            s->trial[k] = place[k] + part * s->step[k];
        double there = line_search_cost(s, s->trial);
        if (there < *cost * LINE_SEARCH_ENOUGH) {
            memcpy(place, s->trial, s->count * sizeof *place);
            *cost = there;
            return true;
        }
    }
    return false;
}

/* Descend to a local minimum, `held` (or LINE_SEARCH_NONE) staying where it is.  With a held break
 * only its neighbours are tried for corners: they carry what it pushes away. */
static double descend(line_search *s, double *place, size_t held) {
    double cost = line_search_cost(s, place);
    if (!isfinite(cost))
        return cost;
    for (int round = 0; round < ROUNDS; round++) {
        if (descend_newton(s, place, &cost, held))
            continue;
        if (!line_corner_descend(s, place, &cost, held))
            break;
    }
    return cost;
}

/* Copy the `count` places of `others`, rising, with x in its turn. */
static void insert_place(const double *others, size_t count, double x, double *out) {
    size_t k = 0;
    for (; k < count && others[k] < x; k++)
        out[k] = others[k];
    out[k] = x;
    for (; k < count; k++)
        out[k + 1] = others[k];
}

/* The best place for one break more than the others[0 .. s->count - 2]; the joined list, descended
 * to its minimum, goes to `out`. */
static double best_addition(line_search *s, const double *others, double *out) {
    const line_sums *sums = s->sums;
    size_t stride = (sums->n + SCAN_LIMIT - 1) / SCAN_LIMIT;
    double least = INFINITY, where = NAN;
    for (size_t i = stride; i + 1 < sums->n; i += stride) {
        insert_place(others, s->count - 1, sums->x[i], s->trial);
        double there = line_search_cost(s, s->trial);
        if (there < least) {
            least = there;
            where = sums->x[i];
        }
    }
    if (!isfinite(least))
        return least;
    insert_place(others, s->count - 1, where, out);
    return descend(s, out, LINE_SEARCH_NONE);
}

/* Take each break out and look for a better place over the whole span, until a full turn finds
 * none. */
static void search_again(line_search *s) {
    size_t failed = 0;
    for (size_t turn = 0; failed < s->count && turn < ROUNDS; turn++) {
        size_t j = turn % s->count;
        memcpy(s->kept, s->best, j * sizeof *s->kept);
        memcpy(s->kept + j, s->best + j + 1, (s->count - 1 - j) * sizeof *s->kept);
        double cost = best_addition(s, s->kept, s->profile);
        failed++;
        if (cost < s->best_cost * (1 - 1e-9)) {
            memcpy(s->best, s->profile, s->count * sizeof *s->best);
            s->best_cost = cost;
            failed = 0;
        }
    }
}

shot_status line_search_whole(line_search *search) {
    search->best_cost = line_search_cost(search, search->best);
    for (search->count = 1; search->count <= search->capacity; search->count++) {
        memcpy(search->kept, search->best, (search->count - 1) * sizeof *search->kept);
        search->best_cost = best_addition(search, search->kept, search->best);
        if (!isfinite(search->best_cost))
            return SHOT_ERR_SINGULAR;
        if (search->count > 1)
            search_again(search);
    }
    search->count = search->capacity;
    return SHOT_OK;
}

/* Push the breaks beside j away from it until each piece has its least number of samples. */
static bool make_room(const line_search *s, double *place, size_t j) {
    const line_sums *sums = s->sums;
    size_t least = s->min_samples;
    for (size_t k = j; k-- > 0;) {
        size_t next = line_sums_index(sums, place[k + 1]);
        if (next < least + 1)
            return false;
        if (line_sums_index(sums, place[k]) + least > next)
            place[k] = sums->x[next - least - 1];
    }
    for (size_t k = j + 1; k < s->count; k++) {
        size_t before = line_sums_index(sums, place[k - 1]);
        if (before + least > sums->n)
            return false;
        if (line_sums_index(sums, place[k]) < before + least)
            place[k] = sums->x[before + least - 1];
    }
    return true;
}

shot_status line_search_from(line_search *search, const double *starts, size_t count) {
    search->count = count;
    for (size_t k = 0; k < count; k++)
        search->best[k] = starts[k] - search->sums->x0;
    for (size_t k = 0; k < count && !set_knots(search, search->best); k++)
        if (!make_room(search, search->best, k))
            return SHOT_ERR_SINGULAR;
    search->best_cost = descend(search, search->best, LINE_SEARCH_NONE);
    return isfinite(search->best_cost) ? SHOT_OK : SHOT_ERR_SINGULAR;
}

/* Cost with break j held at x, the others following from where they were. */
static double profile_cost(line_search *s, size_t j, double x) {
    memcpy(s->kept, s->profile, s->count * sizeof *s->kept);
    s->kept[j] = x;
    if (!make_room(s, s->kept, j))
        return NAN;
    double cost = descend(s, s->kept, j);
    if (!isfinite(cost))
        return NAN;
    memcpy(s->profile, s->kept, s->count * sizeof *s->kept);
    return cost;
}

/* One end of the interval, in the direction of `end`. */
static double profile_end(line_search *s, size_t j, double limit, double step, double end) {
    double inside = s->best[j], side = end < inside ? -1 : 1, outside = inside;
    memcpy(s->profile, s->best, s->count * sizeof *s->profile);
    for (;; step *= 2) {
        outside = s->best[j] + side * step;
        if (side * (outside - end) >= 0)
            outside = end;
        double cost = profile_cost(s, j, outside);
        if (cost > limit)
            break;
        if (outside == end)
            return end;
        if (!isnan(cost))
            inside = outside;
    }
    const line_sums *sums = s->sums;
    double finest = 1e-10 * (sums->x[sums->n - 1] - sums->x[0]);
    while (fabs(outside - inside) > fmax(finest, 1e-4 * fabs(outside - s->best[j]))) {
        double middle = 0.5 * (inside + outside);
        if (profile_cost(s, j, middle) > limit)
            outside = middle;
        else
            inside = middle;
    }
    return outside;
}

void line_search_profile(line_search *search, size_t j, double allowance, double scale, double *low,
                         double *high) {
    const line_sums *sums = search->sums;
    double first = sums->x[0], last = sums->x[sums->n - 1];
    double least_step = (last - first) / (double)sums->n / 8;
    double step = fmin(fmax(scale, least_step), 0.25 * (last - first));
    double limit = search->best_cost + allowance;
    *low = profile_end(search, j, limit, step, first);
    *high = profile_end(search, j, limit, step, last);
}
