/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums of powers over a sliding window, and the polynomial that they determine. */
#include "sliding_moments.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "inline.h"

enum { MOST_TERMS = MOMENTS_HIGHEST_ORDER + 1 };

void sliding_moments_reset(sliding_moments *sums) {
    sums->first = sums->boundary = sums->end = 0;
}

void sliding_moments_free(sliding_moments *sums) {
    free(sums->front);
    sums->front = NULL;
    sums->room = 0;
}

SHOT_INLINE void add_sample(const sliding_moments *sums, size_t order, double t, double y,
                            moments *to) {
    const double x = (t - sums->anchor) / sums->scale, value = y - sums->level;
    double power = 1;
    for (size_t k = 0; k <= order; k++, power *= x) {
        to->power[k] += power;
        to->with[k] += power * value;
    }
    for (size_t k = order + 1; k <= 2 * order; k++, power *= x)
        to->power[k] += power;
}

/* Move the boundary to the end of the window. */
SHOT_INLINE shot_status start_afresh(sliding_moments *sums, size_t order,
                                     const shot_window_view *view) {
    if (view->n > sums->room) {
        const size_t room = view->n + view->n / 2;
        moments *front =
            room > SIZE_MAX / sizeof *front ? NULL : realloc(sums->front, room * sizeof *front);
        if (front == NULL)
            return SHOT_ERR_MEMORY;
        sums->front = front;
        sums->room = room;
    }
    int exponent;
    frexp(view->t[view->n - 1] - view->t[0], &exponent);
    sums->scale = ldexp(1, exponent); /* a power of two: scaling rounds nothing */
    sums->anchor = view->t[view->n - 1];
    sums->level = view->y[view->n - 1]; /* the others are likely to be near */
    sums->first = view->first;
    sums->boundary = sums->end = view->first + view->n;
    sums->back = (moments){0};
    moments so_far = {0};
    for (size_t i = view->n; i-- > 0;) {
        add_sample(sums, order, view->t[i], view->y[i], &so_far);
        sums->front[i] = so_far;
    }
    return SHOT_OK;
}

SHOT_INLINE shot_status follow(sliding_moments *sums, size_t order, const shot_window_view *view) {
    if (view->first >= sums->boundary)
        return start_afresh(sums, order, view);
    for (; sums->end < view->first + view->n; sums->end++) {
        const size_t i = sums->end - view->first;
        add_sample(sums, order, view->t[i], view->y[i], &sums->back);
    }
    return SHOT_OK;
}

/* For usual orders, which the compiler then knows, every loop over powers is unrolled. */
shot_status sliding_moments_follow(sliding_moments *sums, const shot_window_view *view) {
    switch (sums->order) {
    case 2:
        return follow(sums, 2, view);
    case 3:
        return follow(sums, 3, view);
    default:
        return follow(sums, sums->order, view);
    }
}

void sliding_moments_put(const sliding_moments *sums, const shot_window_view *view,
                         window_moments *out) {
    static const moments none;
    const bool spans = view->first < sums->boundary;
    const moments *front = spans ? &sums->front[view->first - sums->first] : &none;
    for (size_t k = 0; k <= 2 * MOMENTS_HIGHEST_ORDER; k++)
        out->sum.power[k] = sums->back.power[k] + front->power[k];
    for (size_t k = 0; k <= MOMENTS_HIGHEST_ORDER; k++)
        out->sum.with[k] = sums->back.with[k] + front->with[k];
    out->at = (view->at - sums->anchor) / sums->scale;
    out->scale = sums->scale;
    out->level = sums->level;
}

/* The normal matrix L D L' of the sums, D in place of the diagonal. */
static inline bool factorise(const moments *sum, size_t terms, double l[MOST_TERMS][MOST_TERMS]) {
    for (size_t i = 0; i < terms; i++) {
        for (size_t j = 0; j <= i; j++) {
            double value = sum->power[i + j];
            for (size_t k = 0; k < j; k++)
                value -= l[i][k] * l[j][k] * l[k][k];
            l[i][j] = i == j ? value : value / l[j][j];
        }
        if (!(l[i][i] > MOMENTS_LEAST_PIVOT * sum->power[2 * i]))
            return false;
    }
    return true;
}

/* Solve L D L' z = z. */
static inline void solve(size_t terms, double l[MOST_TERMS][MOST_TERMS], double *z) {
    for (size_t i = 0; i < terms; i++)
        for (size_t k = 0; k < i; k++)
            z[i] -= l[i][k] * z[k];
    for (size_t i = terms; i-- > 0;) {
        z[i] /= l[i][i];
        for (size_t k = i + 1; k < terms; k++)
            z[i] -= l[k][i] * z[k];
    }
}

/* The derivative of every power at x. */
static inline void powers_at(double x, size_t terms, size_t derivative, double *at) {
    double power = 1;
    for (size_t k = 0; k < terms; k++) {
        at[k] = 0;
        if (k < derivative)
            continue;
        double factor = 1;
        for (size_t d = 0; d < derivative; d++)
            factor *= (double)(k - d);
        at[k] = factor * power;
        power *= x;
    }
}

/* The solution for a number of terms and a derivative that the compiler knows, where they are
 * usual: it then unrolls every loop. */
static inline void solve_for(const window_moments *window, size_t terms, size_t derivative,
                             moments_value *found) {
    const moments *sum = &window->sum;
    double l[MOST_TERMS][MOST_TERMS], here[MOST_TERMS], z[MOST_TERMS];
    found->good = sum->power[0] >= (double)terms && factorise(sum, terms, l);
    if (!found->good)
        return;
    powers_at(window->at, terms, derivative, here);
    for (size_t k = 0; k < terms; k++)
        z[k] = here[k];
    solve(terms, l, z);
    double value = 0, gain = 0, unit = 1;
    for (size_t k = 0; k < terms; k++) {
        value += z[k] * sum->with[k];
        gain += z[k] * here[k];
    }
    for (size_t d = 0; d < derivative; d++)
        unit /= window->scale;
    found->is.value = derivative == 0 ? value + window->level : value * unit;
    found->is.gain = gain * unit * unit;
}

void sliding_moments_solve(const window_moments *window, size_t order, size_t derivative,
                           moments_value *found) {
    const size_t terms = order + 1;
    if (terms == 3 && derivative == 0)
        solve_for(window, 3, 0, found);
    else if (terms == 3 && derivative == 1)
        solve_for(window, 3, 1, found);
    else if (terms == 4 && derivative == 0)
        solve_for(window, 4, 0, found);
    else
        solve_for(window, terms, derivative, found);
}
