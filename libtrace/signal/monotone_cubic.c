/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Monotone piecewise cubic interpolation (Fritsch & Butland 1984). */
#include <shottrace/signal/monotone_cubic.h>

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <shottrace/signal/sample_weights.h>

#include "signal/cubic_places.h"
#include "signal/cubic_stretch.h"
#include "signal/cursor.h"
#include "signal/intervals.h"
#include "signal/missing.h"

static int sign(double x) {
    return (x > 0) - (x < 0);
}

/* End sample: the parabola through three samples, held back so that the shape is kept
 * (Moler 2004, section 3.6).  h0 and d0 belong to the interval at the end. */
static double end_slope(double h0, double d0, double h1, double d1) {
    const double slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if (sign(slope) != sign(d0))
        return 0;
    if (sign(d0) != sign(d1) && fabs(slope) > 3 * fabs(d0))
        return 3 * d0;
    return slope;
}

/* A run of samples lo..hi (inclusive), hi > lo. */
typedef struct run {
    size_t lo, hi;
} run;

/* The first of the two or three samples that the slope at sample i rests on. */
static size_t slope_first(run r, size_t i) {
    return r.hi == r.lo + 1 || i == r.lo ? r.lo : i == r.hi ? r.hi - 2 : i - 1;
}

static double run_slope(const double *t, const double *y, run r, size_t i) {
    const size_t first = slope_first(r, i);
    const double h0 = t[first + 1] - t[first], d0 = (y[first + 1] - y[first]) / h0;
    if (r.hi == r.lo + 1)
        return d0;
    const double h1 = t[first + 2] - t[first + 1], d1 = (y[first + 2] - y[first + 1]) / h1;
    if (i == r.lo)
        return end_slope(h0, d0, h1, d1);
    if (i == r.hi)
        return end_slope(h1, d1, h0, d0);
    return cubic_inner_slope(h0, d0, h1, d1);
}

double shot_monotone_cubic_slope(const double *t, const double *y, size_t n, size_t i) {
    return run_slope(t, y, (run){0, n - 1}, i);
}

/* The run around sample i, as far as its slope looks: two samples away at most.  A run ends beside
 * a missing sample. */
static run run_around(const double *y, size_t n, size_t i) {
    run r = {i, i};
    while (r.lo > 0 && i - r.lo < 2 && !isnan(y[r.lo - 1]))
        r.lo--;
    while (r.hi + 1 < n && r.hi - i < 2 && !isnan(y[r.hi + 1]))
        r.hi++;
    return r;
}

static double slope_at(const double *t, const double *y, size_t n, size_t i) {
    return run_slope(t, y, run_around(y, n, i), i);
}

/* The value at a place within the interval from sample i to the next. */
static double value_between(const double *t, const double *y, size_t n, size_t i, double at) {
    if (isnan(y[i] + y[i + 1]))
        return NAN;
    return cubic_hermite(t[i], t[i + 1], y[i], y[i + 1], slope_at(t, y, n, i),
                         slope_at(t, y, n, i + 1), at);
}

/* ---- many places at once ---- */

/* Places that lie near each other: the interval of each, and the samples around them. */
typedef struct stretch {
    size_t count;
    const size_t *of;
    size_t lo, hi; /* all intervals lie within lo..hi */
} stretch;

/* The intervals of places, the first in interval `here`; how many lie among the samples and before
 * interval `end`. */
static size_t find_intervals(const double *t, size_t n, const double *at, size_t m, size_t here,
                             size_t end, size_t *of) {
    size_t count = 0;
    for (; count < m; count++) {
        while (here + 1 < n && t[here + 1] <= at[count])
            here++;
        if (here >= end || (here + 1 == n && at[count] != t[here]))
            break;
        of[count] = here;
    }
    return count;
}

/* From the first of m places on, those that lie among the samples, in at most CUBIC_STRETCH
 * intervals; *i moves to the last of these.  Places do not fall: behind the first, none lies before
 * the samples. */
static void find_stretch(const double *t, size_t n, const double *at, size_t m, size_t *i,
                         size_t *of, stretch *s) {
    const size_t most = m < CUBIC_STRETCH ? m : CUBIC_STRETCH;
    size_t here = *i;
    *s = (stretch){.of = of};
    if (most > 0 && cursor_seek(t, n, at[0], &here)) {
        s->lo = here;
        s->count = find_intervals(t, n, at, most, here, here + CUBIC_STRETCH, of);
        *i = of[s->count - 1];
    }
    s->hi = *i + 1 < n ? *i + 1 : *i;
}

/* The same of places whose intervals are known. */
static stretch stretch_of(const size_t *of, size_t m, size_t n) {
    const size_t most = m < CUBIC_STRETCH ? m : CUBIC_STRETCH, end = of[0] + CUBIC_STRETCH;
    stretch s = {.of = of, .lo = of[0], .count = most};
    if (of[0] == CUBIC_NOWHERE)
        return (stretch){0};
    if (of[most - 1] >= end)
        for (s.count = 1; of[s.count] < end;)
            s.count++;
    const size_t last = of[s.count - 1];
    s.hi = last + 1 < n ? last + 1 : last;
    return s;
}

/* Whether the slopes at lo..hi rest on samples that are all there. */
static bool is_whole(const double *y, size_t n, const stretch *s) {
    const size_t first = s->lo > 2 ? s->lo - 2 : 0, last = s->hi + 2 < n ? s->hi + 2 : n - 1;
    return !any_missing(y + first, last - first + 1);
}

/* The slopes at lo..hi of samples that are one run; n >= 3. */
static void find_slopes(const double *t, const double *y, size_t n, const stretch *s,
                        double *slope) {
    const size_t first = s->lo > 1 ? s->lo : 1, last = s->hi < n - 1 ? s->hi : n - 2;
    if (last >= first)
        cubic_inner_slopes(t + first - 1, y + first - 1, last - first + 3, slope + (first - s->lo));
    if (s->lo == 0)
        slope[0] = run_slope(t, y, (run){0, n - 1}, 0);
    if (s->hi == n - 1)
        slope[s->hi - s->lo] = run_slope(t, y, (run){0, n - 1}, n - 1);
}

static void values_of_stretch(const double *t, const double *y, size_t n, const stretch *s,
                              const double *at, double *value) {
    double slope[CUBIC_STRETCH + 1];
    cubic_pieces p;
    find_slopes(t, y, n, s, slope);
    for (size_t k = 0; k < s->count; k++) {
        const size_t i = s->of[k] < s->hi ? s->of[k] : s->hi - 1;
        memcpy(p.t[k], t + i, sizeof p.t[k]);
        memcpy(p.y[k], y + i, sizeof p.y[k]);
        memcpy(p.slope[k], slope + (i - s->lo), sizeof p.slope[k]);
    }
    cubic_values(&p, at, s->count, value);
}

/* The values at the places of a stretch, or at one that lies in none; how many these are. */
static size_t fill_stretch(const double *t, const double *y, size_t n, const stretch *s,
                           const double *at, double *value) {
    if (s->count == 0) {
        *value = NAN;
        return 1;
    }
    if (n >= 3 && s->hi > s->lo && is_whole(y, n, s))
        values_of_stretch(t, y, n, s, at, value);
    else
        for (size_t k = 0; k < s->count; k++)
            value[k] = at[k] == t[s->of[k]] ? y[s->of[k]] : value_between(t, y, n, s->of[k], at[k]);
    return s->count;
}

shot_status shot_monotone_cubic(const double *t, const double *y, size_t n, const double *at,
                                size_t m, double *value) {
    size_t of[CUBIC_STRETCH], i = 0;
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    for (size_t done = 0; done < m;) {
        stretch s;
        find_stretch(t, n, at + done, m - done, &i, of, &s);
        done += fill_stretch(t, y, n, &s, at + done, value + done);
    }
    return SHOT_OK;
}

shot_status monotone_cubic_with(cubic_places *places, const double *t, const double *y, size_t n,
                                const double *at, size_t m, double *value) {
    const size_t *of = places != NULL ? cubic_places_find(places, t, n, at, m) : NULL;
    if (of == NULL)
        return shot_monotone_cubic(t, y, n, at, m, value);
    for (size_t done = 0; done < m;) {
        const stretch s = stretch_of(of + done, m - done, n);
        done += fill_stretch(t, y, n, &s, at + done, value + done);
    }
    return SHOT_OK;
}

/* ---- weights ---- */

/* What a slope does where the slopes of the two intervals that it rests on change. */
typedef struct parts {
    double d0, d1;
} parts;

static parts inner_parts(double h0, double d0, double h1, double d1) {
    const double value = cubic_inner_slope(h0, d0, h1, d1);
    const double w0 = 2 * h1 + h0, w1 = h1 + 2 * h0;
    if (value == 0)
        return (parts){0, 0};
    const double over0 = value / d0, over1 = value / d1;
    return (parts){over0 * over0 * w0 / (w0 + w1), over1 * over1 * w1 / (w0 + w1)};
}

static parts end_parts(double h0, double d0, double h1, double d1) {
    const double value = end_slope(h0, d0, h1, d1);
    if (value == 0)
        return (parts){0, 0};
    if (sign(d0) != sign(d1) && value == 3 * d0)
        return (parts){3, 0};
    return (parts){(2 * h0 + h1) / (h0 + h1), -h0 / (h0 + h1)};
}

/* The same choice as in run_slope, for a run of three and more. */
static parts run_parts(const double *t, const double *y, run r, size_t i) {
    const size_t first = slope_first(r, i);
    const double h0 = t[first + 1] - t[first], d0 = (y[first + 1] - y[first]) / h0;
    const double h1 = t[first + 2] - t[first + 1], d1 = (y[first + 2] - y[first + 1]) / h1;
    if (i == r.lo)
        return end_parts(h0, d0, h1, d1);
    if (i == r.hi) {
        const parts turned = end_parts(h1, d1, h0, d0);
        return (parts){turned.d1, turned.d0};
    }
    return inner_parts(h0, d0, h1, d1);
}

/* Add what the value owes to the slope at sample i, `share` of it. */
static void add_slope(const double *t, const double *y, size_t n, size_t i, double share,
                      shot_sample_weights *out) {
    const run r = run_around(y, n, i);
    const size_t first = slope_first(r, i);
    const bool line = r.hi == r.lo + 1;
    const parts of = line ? (parts){1, 0} : run_parts(t, y, r, i);
    double *w = out->weight + (first - out->first);
    const double a = share * of.d0 / (t[first + 1] - t[first]);
    w[0] -= a;
    w[1] += a;
    if (line)
        return;
    const double b = share * of.d1 / (t[first + 2] - t[first + 1]);
    w[1] -= b;
    w[2] += b;
}

/* The derivatives of `hermite` by the samples; its clamp is for rounding alone. */
static void weights_between(const double *t, const double *y, size_t n, size_t i, double at,
                            shot_sample_weights *out) {
    const run left = run_around(y, n, i), right = run_around(y, n, i + 1);
    const double h = t[i + 1] - t[i];
    const double s = (at - t[i]) / h, r = (t[i + 1] - at) / h;
    *out = (shot_sample_weights){.first = left.lo, .count = right.hi - left.lo + 1};
    out->weight[i - left.lo] = r * r * (1 + 2 * s);
    out->weight[i + 1 - left.lo] = s * s * (1 + 2 * r);
    add_slope(t, y, n, i, h * s * r * r, out);
    add_slope(t, y, n, i + 1, -h * s * s * r, out);
}

shot_status shot_monotone_cubic_weights(const double *t, const double *y, size_t n,
                                        const double *at, size_t m, shot_sample_weights *out) {
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    size_t i = 0;
    for (size_t k = 0; k < m; k++) {
        out[k] = (shot_sample_weights){0};
        if (!cursor_seek(t, n, at[k], &i) || isnan(y[i]))
            continue;
        if (at[k] == t[i])
            out[k] = (shot_sample_weights){i, 1, {1}};
        else if (!isnan(y[i + 1]))
            weights_between(t, y, n, i, at[k], &out[k]);
    }
    return SHOT_OK;
}
