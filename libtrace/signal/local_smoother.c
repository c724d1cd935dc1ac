/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Savitzky-Golay smoothing and differentiation of a stream, on its true times. */
#include <shottrace/signal/local_smoother.h>

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/local_fit.h>

#include "signal/column_queue.h"
#include "signal/savgol_cache.h"

/* Columns of the queues. */
enum { TIME, VALUE, RUN }; /* of samples: RUN counts the samples up to this one evenly spaced */
enum { RESULT, GAIN };     /* of results */

struct shot_local_smoother {
    shot_local_smoother_shape shape;
    shot_local_fit *fit;
    shot_savgol_cache cache;
    shot_column_queue rows;    /* not decided yet */
    shot_column_queue samples; /* present, and still within reach of a row */
    shot_column_queue results; /* decided, not taken */
    size_t dropped;            /* samples that were before those held */
    size_t begin, end;         /* the window of the row before, in samples held: it only moves on */
    bool any, finished;
    double first, last; /* times of the first and last row */
};

/* A window: held samples begin..end-1. */
typedef struct reach {
    size_t begin, end;
} reach;

shot_status shot_local_smoother_new(const shot_local_smoother_shape *shape,
                                    shot_local_smoother **out) {
    *out = NULL;
    bool odd = !shape->counted || fmod(shape->window, 2) == 1;
    if (!(shape->window > 0) || !odd || (shape->counted && shape->window <= (double)shape->order))
        return SHOT_ERR_RANGE;
    shot_local_smoother *self = calloc(1, sizeof *self);
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->shape = *shape;
    self->cache = (shot_savgol_cache){.order = shape->order, .derivative = shape->derivative};
    shot_status status = shot_local_fit_new(shape->order, &self->fit);
    if (status != SHOT_OK)
        shot_local_smoother_free(self);
    else
        *out = self;
    return status;
}

void shot_local_smoother_reset(shot_local_smoother *self) {
    shot_queue_clear(&self->rows);
    shot_queue_clear(&self->samples);
    shot_queue_clear(&self->results);
    self->dropped = self->begin = self->end = 0;
    self->any = self->finished = false;
}

void shot_local_smoother_free(shot_local_smoother *self) {
    if (self == NULL)
        return;
    shot_queue_free(&self->rows);
    shot_queue_free(&self->samples);
    shot_queue_free(&self->results);
    shot_local_fit_free(self->fit);
    shot_savgol_cache_free(&self->cache);
    free(self);
}

/* ---- taking samples in ---- */

/* Evenly spaced means: the same spacing as before, but for the rounding of the times. */
static void append_sample(shot_column_queue *samples, double t, double y) {
    double *time = shot_queue_column(samples, TIME), *run = shot_queue_column(samples, RUN);
    size_t i = samples->count++;
    time[i] = t;
    shot_queue_column(samples, VALUE)[i] = y;
    run[i] = i == 0 ? 1 : 2;
    if (i >= 2 &&
        fabs((t - time[i - 1]) - (time[i - 1] - time[i - 2])) <= 4 * DBL_EPSILON * fabs(t))
        run[i] = run[i - 1] + 1;
}

static void append_row(shot_local_smoother *self, double t, double y) {
    size_t i = self->rows.count++;
    shot_queue_column(&self->rows, TIME)[i] = t;
    shot_queue_column(&self->rows, VALUE)[i] = y;
    if (!self->any)
        self->first = t;
    self->any = true;
    self->last = t;
    if (!isnan(y))
        append_sample(&self->samples, t, y);
}

/* ---- windows ---- */

/* The window in time of a row; false while later rows may still belong to it. */
static bool span_of(const shot_local_smoother *self, double t, double *low, double *high) {
    double half = self->shape.window / 2;
    *low = t - half;
    *high = t + half;
    if (self->first > *low) {
        *low = self->first;
        *high = self->first + 2 * half;
    }
    if (self->finished && self->last < *high) {
        *high = self->last;
        *low = fmin(*low, self->last - 2 * half);
    }
    return self->finished || self->last >= *high;
}

/* The times are sums of decimals: a sample on the edge belongs to the window whatever its last
 * bit. */
static double slack(double t) {
    return 8 * DBL_EPSILON * fabs(t);
}

static bool timed_reach(shot_local_smoother *self, double t, reach *out) {
    double low, high;
    if (!span_of(self, t, &low, &high))
        return false;
    const double *time = shot_queue_column(&self->samples, TIME);
    size_t n = self->samples.count;
    while (self->begin > 0 && time[self->begin - 1] >= low - slack(low))
        self->begin--; /* only at the end, where the last full window reaches back */
    while (self->begin < n && time[self->begin] < low - slack(low))
        self->begin++;
    self->end = self->end < self->begin ? self->begin : self->end;
    while (self->end < n && time[self->end] <= high + slack(high))
        self->end++;
    *out = (reach){self->begin, self->end};
    return true;
}

/* `half` samples on either side of the row; the first or last full window at the ends. */
static bool counted_reach(shot_local_smoother *self, double t, reach *out) {
    const double *time = shot_queue_column(&self->samples, TIME);
    size_t n = self->samples.count, length = (size_t)self->shape.window, half = length / 2;
    while (self->end < n && time[self->end] < t)
        self->end++; /* here: the first sample not before the row */
    size_t at = self->end, before = at < half ? at : half;
    bool on_sample = at < n && time[at] == t;
    size_t begin = at - before, end = begin + length - (on_sample || before < half ? 0 : 1);
    if (begin == 0 && self->dropped == 0)
        end = length;
    if (end > n && !self->finished)
        return false;
    if (end > n) {
        end = n;
        begin = n > length ? n - length : 0;
    }
    if (end - begin + 1 < length)
        begin = end; /* the whole stream is shorter than the window */
    *out = (reach){begin, end};
    return true;
}

/* ---- one result ---- */

/* The place of the row among the samples of an evenly spaced window; false if there is none. */
static bool even_place(const shot_local_smoother *self, const reach *window, double t,
                       size_t *place) {
    const double *time = shot_queue_column(&self->samples, TIME);
    const double *run = shot_queue_column(&self->samples, RUN);
    size_t n = window->end - window->begin;
    if (self->shape.taper || n < 3 || run[window->end - 1] < (double)n)
        return false;
    double spacing = (time[window->end - 1] - time[window->begin]) / (double)(n - 1);
    double where = floor((t - time[window->begin]) / spacing + 0.5);
    if (where < 0 || where >= (double)n)
        return false;
    *place = (size_t)where;
    return time[window->begin + *place] == t;
}

static bool even_result(shot_local_smoother *self, const reach *window, double t, double *value,
                        double *gain) {
    size_t place, n = window->end - window->begin;
    if (!even_place(self, window, t, &place))
        return false;
    const shot_savgol_entry *entry = shot_savgol_cached(&self->cache, n, place);
    if (entry == NULL)
        return false;
    const double *time = shot_queue_column(&self->samples, TIME) + window->begin;
    const double *y = shot_queue_column(&self->samples, VALUE) + window->begin;
    double sum = 0, scale = 1, spacing = (time[n - 1] - time[0]) / (double)(n - 1);
    for (size_t i = 0; i < n; i++)
        sum += entry->weights[i] * y[i];
    for (size_t d = 0; d < self->shape.derivative; d++)
        scale *= spacing;
    *value = sum / scale;
    *gain = entry->gain / (scale * scale);
    return true;
}

static void fitted_result(shot_local_smoother *self, const reach *window, double t, double *value,
                          double *gain) {
    const double *time = shot_queue_column(&self->samples, TIME) + window->begin;
    const double *y = shot_queue_column(&self->samples, VALUE) + window->begin;
    size_t n = window->end - window->begin;
    double taper = 0;
    if (self->shape.taper) /* a little beyond the outermost sample, so that it counts too */
        taper = fmax(t - time[0], time[n - 1] - t) * (1 + 1.0 / (double)n);
    if (shot_local_fit_set(self->fit, time, y, n, t, taper) != SHOT_OK)
        return;
    shot_local_fit_value fitted = shot_local_fit_at(self->fit, t, self->shape.derivative);
    *value = fitted.value;
    *gain = fitted.gain;
}

static void decide(shot_local_smoother *self, double t, double y, const reach *window) {
    double value = NAN, gain = NAN;
    bool wanted = self->shape.fill || !isnan(y);
    if (wanted && window->end - window->begin > self->shape.order &&
        !even_result(self, window, t, &value, &gain))
        fitted_result(self, window, t, &value, &gain);
    size_t i = self->results.count++;
    shot_queue_column(&self->results, RESULT)[i] = isfinite(value) ? value : NAN;
    shot_queue_column(&self->results, GAIN)[i] = gain;
}

/* ---- the stream ---- */

/* Forget samples that no window can reach any more; the last full window may reach back by a
 * whole window from the row at hand. */
static void forget_samples(shot_local_smoother *self) {
    const double *time = shot_queue_column(&self->samples, TIME);
    double next = self->rows.count > 0 ? shot_queue_column(&self->rows, TIME)[0] : self->last;
    size_t reached = self->shape.counted ? self->end : self->begin, count = 0;
    size_t keep = self->shape.counted ? 2 * (size_t)self->shape.window : 0;
    if (self->shape.counted)
        count = reached > keep ? reached - keep : 0;
    else
        while (count < reached && time[count] < next - 1.5 * self->shape.window)
            count++;
    shot_queue_drop(&self->samples, count);
    self->begin -= self->begin < count ? self->begin : count;
    self->end -= self->end < count ? self->end : count;
    self->dropped += count;
}

static shot_status decide_all(shot_local_smoother *self) {
    SHOT_TRY(shot_queue_reserve(&self->results, self->rows.count));
    size_t done = 0;
    const double *time = shot_queue_column(&self->rows, TIME);
    const double *value = shot_queue_column(&self->rows, VALUE);
    for (reach window; done < self->rows.count; done++) {
        bool ready = self->shape.counted ? counted_reach(self, time[done], &window)
                                         : timed_reach(self, time[done], &window);
        if (!ready)
            break;
        decide(self, time[done], value[done], &window);
    }
    shot_queue_drop(&self->rows, done);
    forget_samples(self);
    return SHOT_OK;
}

shot_status shot_local_smoother_push(shot_local_smoother *self, const double *t, const double *y,
                                     size_t n) {
    SHOT_TRY(shot_queue_reserve(&self->rows, n));
    SHOT_TRY(shot_queue_reserve(&self->samples, n));
    for (size_t i = 0; i < n; i++)
        append_row(self, t[i], y[i]);
    return decide_all(self);
}

shot_status shot_local_smoother_finish(shot_local_smoother *self) {
    self->finished = true;
    return decide_all(self);
}

size_t shot_local_smoother_ready(const shot_local_smoother *self) {
    return self->results.count;
}

void shot_local_smoother_take(shot_local_smoother *self, double *values, double *gains,
                              size_t count) {
    memcpy(values, shot_queue_column(&self->results, RESULT), count * sizeof *values);
    if (gains != NULL)
        memcpy(gains, shot_queue_column(&self->results, GAIN), count * sizeof *gains);
    shot_queue_drop(&self->results, count);
}
