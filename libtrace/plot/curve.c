/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples as lines and bands on a page. */
#include "plot/curve.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/sample_quantile.h>

#include "room.h"

void plot_curve_reach(const double *values, size_t n, double *low, double *high) {
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(values[i]))
            continue;
        *low = *low <= values[i] ? *low : values[i]; /* also where *low is NaN */
        *high = *high >= values[i] ? *high : values[i];
    }
}

/* ---- gaps ---- */

enum { SPACINGS = 1024 }; /* so many of them tell the median */

double plot_curve_gap(const plot_series *series) {
    double spacing[SPACINGS], last = NAN;
    size_t count = 0, stride = series->n / SPACINGS + 1;
    for (size_t i = 0, seen = 0; i < series->n; i++) {
        if (!isfinite(series->value[i]))
            continue;
        if (isfinite(last) && seen++ % stride == 0 && count < SPACINGS)
            spacing[count++] = series->time[i] - last;
        last = series->time[i];
    }
    if (count < 2)
        return INFINITY;
    shot_sample_quantile_sort(spacing, count);
    return 5 * shot_sample_quantile(spacing, count, 0.5);
}

double plot_curve_at(const plot_series *series, double when) {
    size_t before = series->n;
    for (size_t i = 0; i < series->n; i++) {
        if (!isfinite(series->value[i]))
            continue;
        if (series->time[i] >= when) {
            if (series->time[i] == when)
                return series->value[i];
            if (before == series->n)
                return NAN;
            double part = (when - series->time[before]) / (series->time[i] - series->time[before]);
            return series->value[before] + part * (series->value[i] - series->value[before]);
        }
        before = i;
    }
    return NAN;
}

/* ---- lines ---- */

/* The run of points that are joined; `side` tells where the last one lies of the axis of y. */
typedef struct run {
    plot_scene *scene;
    plot_pen pen;
    double *xy;
    size_t count, room;
    int side;
} run;

static void end_run(run *self) {
    if (self->count == 1 && self->side == 0)
        plot_scene_dot(self->scene, PLOT_DISC, self->pen, self->xy[0], self->xy[1],
                       self->pen.width);
    else if (self->count > 1)
        plot_scene_path(self->scene, self->pen, self->xy, self->count);
    self->count = 0;
}

static void add_point(run *self, double x, double y, int side) {
    if (side != 0 && self->count > 0 && side == self->side)
        end_run(self);
    double *xy = room_for_more(self->xy, self->count, &self->room, 1024, 2 * sizeof *xy);
    if (xy == NULL) {
        self->scene->status = SHOT_ERR_MEMORY;
        return;
    }
    self->xy = xy;
    self->xy[2 * self->count] = x;
    self->xy[2 * self->count++ + 1] = y;
    self->side = side;
}

/* The samples of one column of pixels: indices of first, lowest, highest and last. */
typedef struct column {
    double number;
    size_t first, lowest, highest, last;
    bool there;
} column;

typedef struct tracer {
    run run;
    const plot_axis *x, *y;
    const plot_series *series;
} tracer;

static void put(tracer *self, size_t i) {
    double value = self->series->value[i];
    int side = value < self->y->low ? -1 : value > self->y->high ? 1 : 0;
    add_point(&self->run, plot_axis_place(self->x, self->series->time[i] - self->series->origin),
              plot_axis_clamp(self->y, value), side);
}

static void put_column(tracer *self, column *one) {
    if (!one->there)
        return;
    size_t early = one->lowest < one->highest ? one->lowest : one->highest;
    size_t late = one->lowest < one->highest ? one->highest : one->lowest;
    put(self, one->first);
    if (early != one->first && early != one->last)
        put(self, early);
    if (late != early && late != one->first && late != one->last)
        put(self, late);
    if (one->last != one->first)
        put(self, one->last);
    one->there = false;
}

static void take(tracer *self, column *one, size_t i, double number) {
    const double *value = self->series->value;
    if (one->there && number != one->number)
        put_column(self, one);
    if (!one->there)
        *one = (column){number, i, i, i, i, true};
    if (value[i] < value[one->lowest])
        one->lowest = i;
    if (value[i] > value[one->highest])
        one->highest = i;
    one->last = i;
}

void plot_curve_line(plot_scene *scene, const plot_axis *x, const plot_axis *y,
                     const plot_series *series, plot_pen pen, double pixel) {
    tracer self = {.run = {.scene = scene, .pen = pen}, .x = x, .y = y, .series = series};
    column one = {0};
    double gap = plot_curve_gap(series), last = NAN;
    for (size_t i = 0; i < series->n; i++) {
        if (!isfinite(series->value[i]))
            continue;
        if (series->time[i] - last > gap) {
            put_column(&self, &one);
            end_run(&self.run);
        }
        last = series->time[i];
        take(&self, &one, i, floor(plot_axis_place(x, last - series->origin) / pixel));
    }
    put_column(&self, &one);
    end_run(&self.run);
    free(self.run.xy);
}

/* ---- bands ---- */

typedef struct band {
    plot_scene *scene;
    plot_ink ink;
    double *xy; /* the upper edge, room for both in one, the lower edge: [room] points each */
    size_t count, room;
} band;

static void end_band(band *self) {
    const double *lower = self->xy + 4 * self->room;
    double *back = self->xy + 4 * self->count;
    for (size_t i = 0; i < self->count; i++) { /* bring the lower edge behind the upper one */
        *--back = lower[2 * i + 1];
        *--back = lower[2 * i];
    }
    plot_scene_area(self->scene, self->ink, self->xy, 2 * self->count);
    self->count = 0;
}

/* A point of both edges; one in the same column of pixels as the last widens it. */
static void widen(band *self, double x, double low, double high, double pixel) {
    double *upper = self->xy + 2 * self->count, *lower = upper + 4 * self->room;
    if (self->count > 1 && floor(upper[-2] / pixel) == floor(x / pixel)) {
        upper[-1] = high < upper[-1] ? high : upper[-1];
        lower[-1] = low > lower[-1] ? low : lower[-1];
        return;
    }
    upper[0] = lower[0] = x;
    upper[1] = high;
    lower[1] = low;
    self->count++;
}

void plot_curve_band(plot_scene *scene, const plot_axis *x, const plot_axis *y,
                     const plot_series *series, const double *low, const double *high, plot_ink ink,
                     double pixel) {
    band self = {.scene = scene, .ink = ink, .room = series->n + 1};
    self.xy = malloc(6 * self.room * sizeof *self.xy);
    if (self.xy == NULL) {
        scene->status = SHOT_ERR_MEMORY;
        return;
    }
    double gap = plot_curve_gap(series), last = NAN;
    for (size_t i = 0; i < series->n; i++) {
        if (!isfinite(low[i]) || !isfinite(high[i]))
            continue;
        if (series->time[i] - last > gap)
            end_band(&self);
        last = series->time[i];
        widen(&self, plot_axis_place(x, last - series->origin), plot_axis_clamp(y, low[i]),
              plot_axis_clamp(y, high[i]), pixel);
    }
    end_band(&self);
    free(self.xy);
}
