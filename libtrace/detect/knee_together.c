/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees with few samples between them, placed together.
 *
 * A knee is placed between its neighbours, as if these lay on samples.  Where few samples lie
 * between, that moves it: a line that starts too early is too flat.  So near such a knee the
 * channel is taken for a broken line through all knees there,
 *
 *     a + b t + sum c_j max(t - place_j, 0),
 *
 * over four samples on either side.  With a, b and c at their best the sum of squares S leaves the
 * place of one knee the distribution
 *
 *     p(place) ~ exp(-S(place) / (2 v))
 *
 * between its neighbours, v as in knee_place.c.  Its median is the place.  Each knee is placed in
 * turn, the others where they are, until none moves (Besag 1986, 'On the statistical analysis of
 * dirty pictures', J. R. Stat. Soc. B 48:259-302, for the principle; from memory). */
#include "detect/knee_together.h"

#include <math.h>

#include <shottrace/signal/least_squares.h>

#include "detect/place_grid.h"

enum { SIDE = 4, ROWS = 2 * SIDE }; /* samples */
enum { STEPS = 32, ROUNDS = 8 };
/* Knees whose interval is shorter than so many samples are in their place. */
static const double IN_PLACE = 2;
static const double STILL = 0.01; /* of the time between samples: has not moved */

/* The samples around a knee, and the broken line through the others. */
typedef struct window {
    double t[ROWS], y[ROWS], matrix[ROWS * ROWS]; /* columns one after the other */
    size_t rows, columns;
    double from, to; /* s: where the knee may be */
} window;

static double spacing_of(const shot_channel_view *view) {
    return (view->t[view->n - 1] - view->t[0]) / (double)(view->n - 1);
}

static void put_kink(window *self, size_t column, double place) {
    for (size_t i = 0; i < self->rows; i++)
        self->matrix[column * self->rows + i] = fmax(self->t[i] - place, 0);
}

/* Times and values from those at the knee and its sample, for the sake of digits. */
static void take_rows(window *self, const shot_channel_view *view, double at) {
    const size_t i = shot_view_first(view, at), first = i > SIDE ? i - SIDE : 0;
    const size_t end = i + SIDE < view->n ? i + SIDE : view->n;
    self->rows = end - first;
    for (size_t k = first; k < end; k++) {
        self->t[k - first] = view->t[k] - at;
        self->y[k - first] = view->y[k] - view->y[first];
        self->matrix[k - first] = 1;
        self->matrix[self->rows + k - first] = view->t[k] - at;
    }
    self->columns = 2;
    self->from = self->t[0];
    self->to = self->t[self->rows - 1];
}

/* False where no other knee is near, or the samples are too few for so many. */
static bool window_of(const shot_channel_view *view, const shot_knee *knees, size_t count,
                      size_t which, window *out) {
    take_rows(out, view, knees[which].at);
    const double first = out->t[0], last = out->t[out->rows - 1];
    for (size_t k = 0; k < count; k++) {
        const double place = knees[k].at - knees[which].at;
        if (k == which || place <= first || place >= last)
            continue;
        if (out->columns + 2 > out->rows)
            return false;
        put_kink(out, out->columns++, place);
        if (k < which)
            out->from = fmax(out->from, place);
        else
            out->to = fmin(out->to, place);
    }
    return out->columns > 2 && out->columns < out->rows && out->to > out->from;
}

/* The sum of squares with a knee of that sign at `place`; infinite where there can be none. */
static double squares_at(window *self, double place, double sign) {
    double work[ROWS * (ROWS + 1) + 2 * ROWS], x[ROWS];
    shot_least_squares fit;
    put_kink(self, self->columns, place);
    if (shot_least_squares_fit(self->matrix, self->y, self->rows, self->columns + 1, work, x, NULL,
                               &fit) != SHOT_OK ||
        !(x[self->columns] * sign > 0))
        return INFINITY;
    return fit.sum_of_squares;
}

/* The distribution of the place; false where no place does. */
static bool weigh(window *self, const shot_noise *noise, double sign, place_grid *out) {
    double best = INFINITY;
    for (size_t i = 0; i < out->count; i++) {
        out->value[i] = squares_at(self, place_grid_at(out, i), sign);
        best = fmin(best, out->value[i]);
    }
    if (!isfinite(best))
        return false;
    const double variance = noise->sd * noise->sd;
    const double freedom = (double)self->rows - (double)self->columns - 2;
    const double misfit = freedom > 0 ? best / freedom / variance : 1;
    const double v = variance * noise->inflation * fmax(1, misfit);
    for (size_t i = 0; i < out->count; i++)
        out->value[i] = exp((best - out->value[i]) / (2 * v));
    return true;
}

/* The new place of a knee and what holds it; false where it stays. */
static bool place_among(const shot_channel_view *view, const shot_knee *knees, size_t count,
                        size_t which, double level, shot_knee *out) {
    const shot_knee *knee = &knees[which];
    window here;
    double value[STEPS];
    if (!window_of(view, knees, count, which, &here))
        return false;
    const double step = (here.to - here.from) / STEPS;
    place_grid grid = {here.from + step / 2, step, value, STEPS};
    if (!weigh(&here, &view->noise, knee->after - knee->before, &grid))
        return false;
    *out = *knee;
    out->at = knee->at + place_grid_quantile(&grid, 0.5);
    out->low = fmin(knee->low, knee->at + place_grid_quantile(&grid, 0.5 - level / 2));
    out->high = fmax(knee->high, knee->at + place_grid_quantile(&grid, 0.5 + level / 2));
    return true;
}

void shot_knees_together(const shot_channel_view *view, double level, shot_knee *knees,
                         size_t count) {
    const double spacing = spacing_of(view);
    bool moved = count > 1;
    for (int round = 0; round < ROUNDS && moved; round++) {
        moved = false;
        for (size_t i = 0; i < count; i++) {
            shot_knee *knee = &knees[i], better;
            if (!(knee->high - knee->low > IN_PLACE * spacing) ||
                !place_among(view, knees, count, i, level, &better))
                continue;
            moved = moved || fabs(better.at - knee->at) > STILL * spacing;
            *knee = better;
        }
    }
}
