/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows a cause relaxes towards its new course: a curve that a broken line describes by two
 * breaks of one sign.  So behind a knee, up to the next, two descriptions with as many parameters
 * are held against each other by their sums of squares:
 *
 *     a + b t + c max(t - place, 0)        a second knee,
 *     a + b t + c exp(-t / lag)            the tail of the first.
 *
 * The second knee goes where the tail is the likelier by MARGIN and a knee on top of it would not
 * stand out (likelihood ratios of models that are not nested: Cox 1962, 'Further results on tests
 * of separate families of hypotheses', J. R. Stat. Soc. B 24:406-424, for the principle; from
 * memory). */
#include "detect/knee_tail.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/least_squares.h>

#include "detect/knee_list.h"
#include "detect/knee_sizes.h"

/* Common practice, no source, but for the last. */
static const double REACH = 2;                   /* s between both, and behind the second */
static const double GUARD = 0.1;                 /* s behind the first, which may be rounded */
static const double SHORTEST = 0.1, LONGEST = 4; /* s, lags */
/* In long-run variances of the noise: two standard errors, and three. */
static const double MARGIN = 4, STANDS_OUT = 9;

enum { LEVEL, SLOPE, THIRD, FOURTH, COLUMNS };
enum { PLACES = 9 };

typedef struct stretch {
    const double *t, *y; /* [n] */
    size_t n;
    double at, spacing;
    double *matrix; /* columns one after the other; the rest is workspace */
} stretch;

static double squares(stretch *self, size_t columns) {
    double x[COLUMNS];
    shot_least_squares fit;
    return shot_least_squares_fit(self->matrix, self->y, self->n, columns,
                                  self->matrix + COLUMNS * self->n, x, NULL, &fit) == SHOT_OK
               ? fit.sum_of_squares
               : INFINITY;
}

static void put_line(stretch *self) {
    for (size_t i = 0; i < self->n; i++) {
        self->matrix[LEVEL * self->n + i] = 1;
        self->matrix[SLOPE * self->n + i] = self->t[i] - self->at;
    }
}

static void put_tail(stretch *self, double lag) {
    for (size_t i = 0; i < self->n; i++)
        self->matrix[THIRD * self->n + i] = exp((self->t[0] - self->t[i]) / lag);
}

/* The least sum of squares with a break near the knee behind the columns that are there. */
static double squares_with_break(stretch *self, size_t columns) {
    const double reach = SHOT_KNEE_APART + self->spacing;
    const double first = self->t[0] + self->spacing, last = self->t[self->n - 1] - self->spacing;
    double best = INFINITY;
    for (int k = 0; k < PLACES; k++) {
        const double place = self->at + reach * (2.0 * k / (PLACES - 1) - 1);
        if (place <= first || place >= last)
            continue;
        for (size_t i = 0; i < self->n; i++)
            self->matrix[columns * self->n + i] = fmax(self->t[i] - place, 0);
        best = fmin(best, squares(self, columns + 1));
    }
    return best;
}

static bool is_tail(stretch *self, const shot_noise *noise) {
    double tail = INFINITY, both = INFINITY;
    put_line(self);
    const double broken = squares_with_break(self, THIRD);
    for (double lag = SHORTEST; lag <= LONGEST; lag *= sqrt(2)) {
        put_tail(self, lag);
        tail = fmin(tail, squares(self, FOURTH));
        both = fmin(both, squares_with_break(self, FOURTH));
    }
    const double left = both / ((double)self->n - COLUMNS - 1);
    const double v = fmax(noise->sd * noise->sd, left) * noise->inflation;
    return isfinite(both) && broken - tail > MARGIN * v && tail - both < STANDS_OUT * v;
}

/* May number i be the tail of the one before?  That is no smaller than half of it, since no knee
 * relaxes into a greater one; common practice, no source. */
static bool follows(const shot_knee *knees, size_t i) {
    const double before = knees[i - 1].after - knees[i - 1].before;
    const double change = knees[i].after - knees[i].before;
    return before * change > 0 && fabs(before) >= 0.5 * fabs(change) &&
           knees[i].at - knees[i - 1].at <= REACH;
}

static shot_status look(const shot_channel_view *view, const shot_knee *knees, size_t count,
                        size_t i, bool *out) {
    const double apart = knees[i].at - knees[i - 1].at;
    const double to = fmin(knees[i].at + REACH, i + 1 < count ? knees[i + 1].at : INFINITY);
    const size_t first = shot_view_first(view, knees[i - 1].at + fmin(GUARD, apart / 2)),
                 end = shot_view_first(view, nextafter(to, INFINITY)), n = end - first;
    *out = false;
    if (n <= COLUMNS + 2)
        return SHOT_OK;
    stretch here = {.t = view->t + first, .y = view->y + first, .n = n, .at = knees[i].at};
    here.spacing = (here.t[n - 1] - here.t[0]) / (double)(n - 1);
    here.matrix =
        malloc((COLUMNS * n + shot_least_squares_workspace(n, COLUMNS)) * sizeof *here.matrix);
    if (here.matrix == NULL)
        return SHOT_ERR_MEMORY;
    *out = is_tail(&here, &view->noise);
    free(here.matrix);
    return SHOT_OK;
}

shot_status shot_knees_drop_tails(const shot_channel_view *view, shot_knee *knees, size_t *count) {
    for (size_t i = 1; i < *count;) {
        bool tail = false;
        if (follows(knees, i))
            SHOT_TRY(look(view, knees, *count, i, &tail));
        if (tail)
            knee_list_remove(i, knees, count);
        else
            i++;
    }
    return SHOT_OK;
}
