/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Monotone piecewise cubic interpolation (Fritsch & Butland 1984). */
#include <shottrace/signal/monotone_cubic.h>

#include <math.h>
#include <stdint.h>

#include "signal/cursor.h"

/* Inner sample: harmonic mean of the slopes d0 and d1 of the intervals h0 and h1 beside it,
 * weighted towards the shorter interval (Fritsch & Butland 1984, equation 5, with the weights of
 * Brodlie); 0 where the data turn. */
static double inner_slope(double h0, double d0, double h1, double d1) {
    if (!((d0 > 0 && d1 > 0) || (d0 < 0 && d1 < 0)))
        return 0;
    const double w0 = 2 * h1 + h0;
    const double w1 = h1 + 2 * h0;
    return (w0 + w1) / (w0 / d0 + w1 / d1);
}

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

/* Slope at sample i of the run lo..hi (inclusive), hi > lo. */
static double run_slope(const double *t, const double *y, size_t lo, size_t hi, size_t i) {
    if (hi == lo + 1)
        return (y[hi] - y[lo]) / (t[hi] - t[lo]);
    const size_t left = i == lo ? lo : i == hi ? hi - 2 : i - 1; /* first of the three samples */
    const double h0 = t[left + 1] - t[left], h1 = t[left + 2] - t[left + 1];
    const double d0 = (y[left + 1] - y[left]) / h0, d1 = (y[left + 2] - y[left + 1]) / h1;
    if (i == lo)
        return end_slope(h0, d0, h1, d1);
    if (i == hi)
        return end_slope(h1, d1, h0, d0);
    return inner_slope(h0, d0, h1, d1);
}

double shot_monotone_cubic_slope(const double *t, const double *y, size_t n, size_t i) {
    return run_slope(t, y, 0, n - 1, i);
}

/* Slope at sample i from the run around it; a run ends beside a missing sample.  The formulas look
 * at most two samples away, so no more of the run needs to be known. */
static double slope_at(const double *t, const double *y, size_t n, size_t i) {
    size_t lo = i, hi = i;
    while (lo > 0 && i - lo < 2 && !isnan(y[lo - 1]))
        lo--;
    while (hi + 1 < n && hi - i < 2 && !isnan(y[hi + 1]))
        hi++;
    return run_slope(t, y, lo, hi, i);
}

typedef struct piece { /* the cubic between two samples */
    double t0, t1, y0, y1;
    double slope0, slope1;
} piece;

static piece piece_at(const double *t, const double *y, size_t n, size_t i) {
    return (piece){t[i],
                   t[i + 1],
                   y[i],
                   y[i + 1],
                   isnan(y[i] + y[i + 1]) ? NAN : slope_at(t, y, n, i),
                   isnan(y[i] + y[i + 1]) ? NAN : slope_at(t, y, n, i + 1)};
}

/* Cubic Hermite form, clamped to its two samples: the cubic never leaves them, but its rounding
 * may. */
static double hermite(const piece *p, double t) {
    const double h = p->t1 - p->t0;
    const double s = (t - p->t0) / h, r = (p->t1 - t) / h;
    const double y = p->y0 * r * r * (1 + 2 * s) + p->y1 * s * s * (1 + 2 * r) +
                     h * s * r * (r * p->slope0 - s * p->slope1);
    return isnan(y) ? y : fmin(fmax(y, fmin(p->y0, p->y1)), fmax(p->y0, p->y1));
}

shot_status shot_monotone_cubic(const double *t, const double *y, size_t n, const double *at,
                                size_t m, double *value) {
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    piece p = {0};
    size_t i = 0, p_of = SIZE_MAX; /* the interval that p belongs to */
    for (size_t k = 0; k < m; k++) {
        if (!cursor_seek(t, n, at[k], &i)) {
            value[k] = NAN;
        } else if (at[k] == t[i]) {
            value[k] = y[i];
        } else {
            if (p_of != i)
                p = piece_at(t, y, n, i);
            p_of = i;
            value[k] = hermite(&p, at[k]);
        }
    }
    return SHOT_OK;
}
