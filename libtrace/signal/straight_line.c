/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The straight line through a stretch of samples. */
#include <shottrace/signal/straight_line.h>

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/distribution.h>

static bool counts(const double *t, const double *y, size_t i, double from, double to) {
    return t[i] >= from && t[i] <= to && !isnan(y[i]);
}

/* Means of time and value, in two passes so that large clocks lose nothing. */
static void find_means(const double *t, const double *y, size_t n, double from, double to,
                       shot_straight_line *out) {
    double origin = 0, sum_t = 0, sum_y = 0;
    for (size_t i = 0; i < n; i++) {
        if (!counts(t, y, i, from, to))
            continue;
        if (out->n++ == 0)
            origin = t[i];
        sum_t += t[i] - origin;
        sum_y += y[i];
    }
    out->centre = origin + sum_t / (double)out->n;
    out->level = sum_y / (double)out->n;
}

static double find_slope(const double *t, const double *y, size_t n, double from, double to,
                         shot_straight_line *out) {
    double stt = 0, sty = 0;
    for (size_t i = 0; i < n; i++) {
        if (!counts(t, y, i, from, to))
            continue;
        double dt = t[i] - out->centre;
        stt += dt * dt;
        sty += dt * (y[i] - out->level);
    }
    out->slope = sty / stt;
    return stt;
}

static void find_scatter(const double *t, const double *y, size_t n, double from, double to,
                         shot_straight_line *out) {
    double squares = 0, products = 0, last = NAN;
    for (size_t i = 0; i < n; i++) {
        if (!counts(t, y, i, from, to))
            continue;
        double residual = y[i] - out->level - out->slope * (t[i] - out->centre);
        squares += residual * residual;
        if (!isnan(last))
            products += residual * last;
        last = residual;
    }
    out->sd = sqrt(squares / (double)(out->n - 2));
    out->correlation = squares > 0 ? fmin(0.99, fmax(0, products / squares)) : 0;
}

shot_status shot_straight_line_fit(const double *t, const double *y, size_t n, double from,
                                   double to, shot_straight_line *out) {
    *out = (shot_straight_line){0};
    find_means(t, y, n, from, to, out);
    if (out->n < 3)
        return SHOT_ERR_SINGULAR;
    double stt = find_slope(t, y, n, from, to, out);
    if (!(stt > 0))
        return SHOT_ERR_SINGULAR;
    find_scatter(t, y, n, from, to, out);
    double r = out->correlation, loss = (1 - r) / (1 + r);
    out->effective_n = fmax(3, (double)out->n * loss);
    out->level_se = out->sd / sqrt(out->effective_n);
    out->slope_se = out->sd / sqrt(stt * out->effective_n / (double)out->n);
    out->freedom = fmax(1, out->effective_n - 2);
    return SHOT_OK;
}

double shot_straight_line_half_width(const shot_straight_line *line, double se, double level) {
    return se * shot_student_quantile(0.5 + level / 2, line->freedom);
}
