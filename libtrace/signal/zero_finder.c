/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The zero of a sensor. */
#include "signal/zero_finder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "signal/scatter.h"

enum { LEAST = 5 };                /* samples of an idle part */
static const double threshold = 5; /* standard deviations */
static const double moved = 3;     /* standard deviations from the one half to the other */

void zero_finder_begin(zero_finder *finder, double longest, bool in_rows) {
    finder->longest = longest;
    finder->in_rows = in_rows;
    finder->start = NAN;
    finder->n = finder->rows = 0;
    finder->done = false;
    finder->result = (sensor_zero){NAN, NAN, NAN, 0};
}

void zero_finder_free(zero_finder *finder) {
    free(finder->t);
    free(finder->y);
    *finder = (zero_finder){0};
}

static shot_status add(zero_finder *finder, double t, double y) {
    if (finder->n == finder->room) {
        const size_t room = finder->room ? 2 * finder->room : 64;
        double *times = realloc(finder->t, room * sizeof *times);
        if (times == NULL)
            return SHOT_ERR_MEMORY;
        finder->t = times;
        double *values = realloc(finder->y, room * sizeof *values);
        if (values == NULL)
            return SHOT_ERR_MEMORY;
        finder->y = values;
        finder->room = room;
    }
    finder->t[finder->n] = t;
    finder->y[finder->n++] = y;
    return SHOT_OK;
}

/* How many samples from the first on are idle.  One sample off is a spike, two are a start. */
static size_t idle_length(const double *y, size_t n, double level, double most) {
    size_t off = 0;
    for (size_t i = 0; i < n; i++) {
        off = fabs(y[i] - level) > most ? off + 1 : 0;
        if (off == 2)
            return i - 1;
    }
    return n - off;
}

/* A slow start stays near its first samples for a while, and the step of its figures seems as large
 * as what it moves from one to the next; but its two halves differ.  `work` has room for n. */
static bool is_moving(const double *y, size_t n, double scatter, double *work) {
    const size_t half = n / 2;
    memcpy(work, y, n * sizeof *work);
    const double before = shot_median(work, half);
    const double after = shot_median(work + half, n - half);
    return fabs(after - before) > moved * scatter;
}

static shot_status settle(zero_finder *finder) {
    const double *t = finder->t, *y = finder->y;
    finder->done = true;
    if (finder->n < LEAST)
        return SHOT_OK;
    double first[LEAST], *work = malloc(finder->n * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    memcpy(first, y, sizeof first);
    const double scatter = scatter_of(t, y, finder->n, work);
    const size_t n = idle_length(y, finder->n, shot_median(first, LEAST), threshold * scatter);
    if (n >= LEAST && !is_moving(y, n, scatter, work)) {
        memcpy(work, y, n * sizeof *work);
        finder->result = (sensor_zero){shot_median(work, n), t[0], t[n - 1], n};
    }
    free(work);
    return SHOT_OK;
}

static bool is_over(const zero_finder *finder, double t) {
    return finder->in_rows ? (double)finder->rows >= finder->longest
                           : t - finder->start > finder->longest;
}

shot_status zero_finder_row(zero_finder *finder, double t, double y) {
    if (finder->done)
        return SHOT_OK;
    if (isnan(finder->start))
        finder->start = t;
    if (is_over(finder, t))
        return settle(finder);
    finder->rows++;
    return isnan(y) ? SHOT_OK : add(finder, t, y);
}

shot_status zero_finder_finish(zero_finder *finder) {
    return finder->done ? SHOT_OK : settle(finder);
}
