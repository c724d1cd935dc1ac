/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where places lie among samples. */
#include "signal/cubic_places.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "signal/cursor.h"
#include "signal/intervals.h"

static bool is_held(const held_places *held, const double *t, size_t n, const double *at,
                    size_t m) {
    return held->n == n && held->m == m && memcmp(held->t, t, n * sizeof *t) == 0 &&
           memcmp(held->t + n, at, m * sizeof *at) == 0;
}

static bool make_room(held_places *held, size_t n, size_t m) {
    if (n > SIZE_MAX / sizeof *held->t - m)
        return false;
    if (n + m > held->room) {
        double *t = realloc(held->t, (n + m) * sizeof *t);
        held->t = t != NULL ? t : held->t;
        held->room = t != NULL ? n + m : held->room;
    }
    if (m > held->of_room) {
        size_t *of = realloc(held->of, m * sizeof *of);
        held->of = of != NULL ? of : held->of;
        held->of_room = of != NULL ? m : held->of_room;
    }
    return n + m <= held->room && m <= held->of_room;
}

static bool hold(held_places *held, const double *t, size_t n, const double *at, size_t m) {
    held->n = held->m = 0;
    if (!times_rise(t, n) || !times_do_not_fall(at, m) || !make_room(held, n, m))
        return false;
    memcpy(held->t, t, n * sizeof *t);
    memcpy(held->t + n, at, m * sizeof *at);
    for (size_t k = 0, i = 0; k < m; k++)
        held->of[k] = cursor_seek(t, n, at[k], &i) ? i : CUBIC_NOWHERE;
    held->n = n;
    held->m = m;
    return true;
}

const size_t *cubic_places_find(cubic_places *places, const double *t, size_t n, const double *at,
                                size_t m) {
    if (n == 0 || m == 0)
        return NULL;
    for (size_t i = 0; i < CUBIC_PLACES_HELD; i++)
        if (is_held(&places->held[i], t, n, at, m))
            return places->held[i].of;
    held_places *oldest = &places->held[places->next++ % CUBIC_PLACES_HELD];
    return hold(oldest, t, n, at, m) ? oldest->of : NULL;
}

void cubic_places_free(cubic_places *places) {
    for (size_t i = 0; i < CUBIC_PLACES_HELD; i++) {
        free(places->held[i].t);
        free(places->held[i].of);
    }
    *places = (cubic_places){0};
}
