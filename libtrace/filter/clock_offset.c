/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far apart the clocks of two logs of one shot are.
 *
 * By one quantity that both have: first roughly, on one even grid, each log carried on beyond its
 * ends by its last values (before and after a shot nothing happens), the shift of the highest
 * correlation; then finely, by the delay of the one against the other near that shift, with its
 * standard error (filter/channel_delay.h).
 *
 * Else by the end of the shot, the one event that all quantities show: when the pump goes off,
 * pressure and flow fall at once and the beverage follows as the basket drains.  Shapes are not
 * compared there: while the puck fills, flow and pressure stand and nothing drips. */
#include "filter/clock_offset.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/channel_delay.h"

enum { MOST_POINTS = 4000 }; /* of a log on the grid: the search takes their square */

static const double finest = 0.02, coarsest = 0.1; /* s, of the grid for logs up to 80 s */
static const double rate_span = 1;                 /* s, over which a weight becomes a rate */
static const double near = 3;                      /* s around the rough shift */
static const double normal_95 = 1.959963984540054;
static const double least_correlation = 0.6;

/* What can be compared, the best first. */
typedef struct comparison {
    const char *a, *b;
    bool alike; /* one quantity: the whole course is compared, else the end of the shot */
} comparison;

static const comparison comparisons[] = {
    {"pressure", "pressure", true}, {"flow", "flow", true},        {"outflow", "outflow", true},
    {"weight", "weight", true},     {"pressure", "weight", false}, {"pressure", "outflow", false},
    {"flow", "weight", false},      {"flow", "outflow", false},
};

/* By how much later the beverage falls to half than pressure or flow does, less the lag of the
 * scale: middle and 95 % of 344 simulated shots of nine styles (docs/join.md), in s. */
typedef struct draining {
    double low, middle, high;
} draining;
static const draining behind_pressure = {-0.1, 0.6, 1.8}, behind_flow = {-0.1, 0.75, 2.7};

/* ---- one quantity on a grid ---- */

typedef struct series {
    double start, step;
    double *y; /* owned [n], none missing */
    size_t n;
} series;

/* The channel at the places of the grid, by straight lines, and carried on beyond its samples;
 * false without a sample. */
static bool sample(const shot_table *log, const double *y, series *out) {
    const double *t = log->rows.column[0];
    const size_t n = log->rows.rows;
    size_t before = n, after = 0;
    for (size_t k = 0; k < out->n; k++) {
        const double at = out->start + (double)k * out->step;
        for (; after < n && (isnan(y[after]) || t[after] < at); after++)
            before = isnan(y[after]) ? before : after;
        if (before == n && after == n)
            return false;
        if (before == n || after == n)
            out->y[k] = y[before == n ? after : before];
        else
            out->y[k] =
                y[before] + (y[after] - y[before]) * (at - t[before]) / (t[after] - t[before]);
    }
    return true;
}

/* A weight becomes what flows into the cup; a cup that is moved does not count. */
static void weight_to_rate(series *s) {
    const size_t span = (size_t)ceil(rate_span / s->step);
    for (size_t k = s->n; k-- > 0;) {
        const double before = s->y[k >= span ? k - span : 0];
        const double rate = (s->y[k] - before) / ((double)span * s->step);
        s->y[k] = rate > 15 || rate < 0 ? 0 : rate;
    }
    s->start -= rate_span / 2;
}

static shot_status series_of(const shot_table *log, const char *channel, double grid_step,
                             series *out) {
    const double *y = shot_table_column(log, channel), *t = log->rows.column[0];
    *out = (series){.start = t[0], .step = grid_step};
    out->n = (size_t)floor((t[log->rows.rows - 1] - t[0]) / grid_step) + 1;
    out->y = malloc(out->n * sizeof *out->y);
    if (out->y == NULL)
        return SHOT_ERR_MEMORY;
    if (!sample(log, y, out)) {
        free(out->y);
        return SHOT_ERR_SINGULAR;
    }
    if (strcmp(channel, "weight") == 0)
        weight_to_rate(out);
    return SHOT_OK;
}

/* ---- roughly ---- */

static double value_at(const series *s, ptrdiff_t k) {
    return s->y[k < 0 ? 0 : k >= (ptrdiff_t)s->n ? (ptrdiff_t)s->n - 1 : k];
}

/* The correlation where place k of b falls onto place k + lag of a. */
static double correlation_at(const series *a, const series *b, ptrdiff_t lag) {
    const ptrdiff_t first = lag < 0 ? lag : 0;
    const ptrdiff_t end_b = (ptrdiff_t)b->n + lag, end_a = (ptrdiff_t)a->n;
    const ptrdiff_t last = end_b > end_a ? end_b : end_a;
    double n = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
    for (ptrdiff_t k = first; k < last; k++) {
        const double x = value_at(a, k), y = value_at(b, k - lag);
        n++;
        sx += x;
        sy += y;
        sxx += x * x;
        syy += y * y;
        sxy += x * y;
    }
    const double vx = sxx - sx * sx / n, vy = syy - sy * sy / n;
    return vx > 0 && vy > 0 ? (sxy - sx * sy / n) / sqrt(vx * vy) : 0;
}

/* The lag of the highest correlation, in which at least half of the shorter log meets the other. */
static double rough_shift(const series *a, const series *b, double *correlation) {
    const ptrdiff_t half = (ptrdiff_t)(a->n < b->n ? a->n : b->n) / 2;
    ptrdiff_t best = 0;
    *correlation = 0;
    for (ptrdiff_t lag = half - (ptrdiff_t)b->n; lag <= (ptrdiff_t)a->n - half; lag++) {
        const double now = correlation_at(a, b, lag);
        if (now > *correlation) {
            *correlation = now;
            best = lag;
        }
    }
    return a->start - b->start + (double)best * a->step;
}

/* ---- finely ---- */

/* Both on one grid over both logs, so that a delay can be found between them. */
static shot_status fine_shift(const series *a, const series *b, double rough, channel_delay *out) {
    const double before = fmin(a->start, b->start + rough) - 4 * near;
    const double from = a->start - ceil((a->start - before) / a->step) * a->step;
    const double end_a = a->start + (double)a->n * a->step;
    const double end_b = b->start + rough + (double)b->n * b->step;
    const size_t n = (size_t)ceil((fmax(end_a, end_b) + 4 * near - from) / a->step);
    double *t = malloc(3 * n * sizeof *t);
    if (t == NULL)
        return SHOT_ERR_MEMORY;
    double *x = t + n, *y = x + n;
    for (size_t i = 0; i < n; i++) {
        t[i] = from + (double)i * a->step;
        x[i] = value_at(a, (ptrdiff_t)floor((t[i] - a->start) / a->step + 0.5));
        const double at = (t[i] - rough - b->start) / b->step;
        const double low = value_at(b, (ptrdiff_t)floor(at)),
                     high = value_at(b, (ptrdiff_t)floor(at) + 1);
        y[i] = low + (high - low) * (at - floor(at));
    }
    const shot_status status = channel_delay_find(t, x, y, n, near, out);
    free(t);
    return status;
}

static shot_status compare_courses(const series *a, const series *b, clock_offset *out) {
    channel_delay fine;
    const double rough = rough_shift(a, b, &out->correlation);
    if (out->correlation < least_correlation)
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(fine_shift(a, b, rough, &fine));
    if (fine.opposite || !isnan(fine.rival))
        return SHOT_ERR_SINGULAR;
    out->offset = rough - fine.delay;
    /* what a straight line between samples may be off by, besides */
    const double half = normal_95 * hypot(fine.se, a->step / 10);
    out->low = out->offset - half;
    out->high = out->offset + half;
    return SHOT_OK;
}

/* ---- by the end of the shot ---- */

/* Where the series last passes `level` on its way down; NaN where it never is over it, or still is
 * at its end. */
static double last_fall(const series *s, double level) {
    size_t k = s->n;
    while (k > 0 && !(s->y[k - 1] > level))
        k--;
    if (k == 0 || k == s->n)
        return NAN;
    const double part = (s->y[k - 1] - level) / (s->y[k - 1] - s->y[k]);
    return s->start + ((double)k - 1 + part) * s->step;
}

/* When it falls to half of what it was before it fell; `low` is the share of its maximum that it
 * has under all of the shot: flow is greatest while the headspace fills. */
static double half_fall(const series *s, double low) {
    double most = 0, sum = 0;
    size_t count = 0;
    for (size_t k = 0; k < s->n; k++)
        most = fmax(most, s->y[k]);
    const double about = last_fall(s, low * most);
    for (size_t k = 0; k < s->n; k++) {
        const double back = about - (s->start + (double)k * s->step);
        if (back >= 1 && back <= 4) {
            sum += s->y[k];
            count++;
        }
    }
    return count > 0 ? last_fall(s, sum / (double)count / 2) : NAN;
}

/* `drains_in_b`: b shows the beverage. */
static shot_status compare_ends(const series *a, const series *b, bool drains_in_b, double lag,
                                clock_offset *out) {
    const bool flow = strcmp(drains_in_b ? out->a : out->b, "flow") == 0;
    const double low = flow ? 0.1 : 1.0 / 3;
    const double end_a = half_fall(a, drains_in_b ? low : 1.0 / 3);
    const double end_b = half_fall(b, drains_in_b ? 1.0 / 3 : low);
    const draining *late = flow ? &behind_flow : &behind_pressure;
    if (isnan(end_a) || isnan(end_b))
        return SHOT_ERR_SINGULAR;
    const double apart = end_a - end_b, known = isnan(lag) ? 0 : lag;
    const double sign = drains_in_b ? 1 : -1;
    out->offset = apart + sign * (known + late->middle);
    out->low = apart + sign * (known + (drains_in_b ? late->low : late->high));
    out->high = apart + sign * (known + (drains_in_b ? late->high : late->low));
    out->correlation = NAN;
    return SHOT_OK;
}

/* ---- all ways ---- */

static shot_status compare(const series *a, const series *b, const comparison *way, bool turned,
                           const shot_head *with_beverage, clock_offset *out) {
    double lag;
    if (way->alike)
        return compare_courses(a, b, out);
    SHOT_TRY(shot_head_quantity(with_beverage, "scale.lag", "s", &lag));
    return compare_ends(a, b, !turned, lag, out);
}

static shot_status try_way(const shot_table *a, const shot_table *b, const comparison *way,
                           bool turned, clock_offset *out) {
    out->a = turned ? way->b : way->a;
    out->b = turned ? way->a : way->b;
    out->alike = way->alike;
    if (shot_table_column(a, out->a) == NULL || shot_table_column(b, out->b) == NULL ||
        a->rows.rows < 2 || b->rows.rows < 2)
        return SHOT_ERR_SINGULAR;
    const double *ta = a->rows.column[0], *tb = b->rows.column[0];
    const double long_a = ta[a->rows.rows - 1] - ta[0], long_b = tb[b->rows.rows - 1] - tb[0];
    const double spacing = fmin(long_a / (double)a->rows.rows, long_b / (double)b->rows.rows);
    const double grid_step =
        fmax(fmin(fmax(spacing, finest), coarsest), fmax(long_a, long_b) / MOST_POINTS);
    series of_a, of_b;
    if (!isfinite(grid_step)) /* a clock from one end of all numbers to the other */
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(series_of(a, out->a, grid_step, &of_a));
    shot_status status = series_of(b, out->b, grid_step, &of_b);
    if (status == SHOT_OK) {
        status = compare(&of_a, &of_b, way, turned, turned ? &a->head : &b->head, out);
        free(of_b.y);
    }
    free(of_a.y);
    return status;
}

shot_status clock_offset_find(const shot_table *a, const shot_table *b, clock_offset *out) {
    for (size_t i = 0; i < sizeof comparisons / sizeof *comparisons; i++)
        for (int turned = 0; turned < 2 - comparisons[i].alike; turned++) {
            const shot_status status = try_way(a, b, &comparisons[i], turned == 1, out);
            if (status != SHOT_ERR_SINGULAR)
                return status;
        }
    return SHOT_ERR_SINGULAR;
}
