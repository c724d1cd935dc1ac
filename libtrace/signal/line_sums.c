/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_sums.h"

#include <math.h>
#include <stdlib.h>

static bool usable(const double *t, const double *y, const double *weights, size_t n) {
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(t[i]) || isinf(y[i]) || (i > 0 && t[i] < t[i - 1]))
            return false;
        if (weights && !(weights[i] > 0 && isfinite(weights[i])))
            return false;
    }
    return true;
}

static void take_samples(line_sums *s, const double *t, const double *y, const double *weights,
                         size_t n) {
    double sum_x = 0, sum_y = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]))
            continue;
        s->x[s->n] = t[i];
        s->y[s->n] = y[i];
        s->w[s->n++] = weights ? weights[i] : 1.0;
        sum_x += t[i] - t[0];
        sum_y += y[i];
    }
    if (s->n == 0)
        return;
    s->x0 = t[0] + sum_x / (double)s->n;
    s->y0 = sum_y / (double)s->n;
    for (size_t i = 0; i < s->n; i++) {
        s->x[i] -= s->x0;
        s->y[i] -= s->y0;
    }
}

static void add_up(line_sums *s) {
    s->before[0] = (line_moments){0};
    for (size_t i = 0; i < s->n; i++) {
        double w = s->w[i], x = s->x[i], y = s->y[i];
        line_moments m = s->before[i];
        s->before[i + 1] = (line_moments){m.w + w,          m.x + w * x,      m.y + w * y,
                                          m.xx + w * x * x, m.xy + w * x * y, m.yy + w * y * y};
    }
}

shot_status line_sums_new(const double *t, const double *y, const double *weights, size_t n,
                          line_sums **out) {
    *out = NULL;
    if (!usable(t, y, weights, n))
        return SHOT_ERR_RANGE;
    line_sums *s = calloc(1, sizeof *s);
    if (!s)
        return SHOT_ERR_MEMORY;
    s->x = calloc(n + 1, sizeof *s->x);
    s->y = calloc(n + 1, sizeof *s->y);
    s->w = calloc(n + 1, sizeof *s->w);
    s->before = calloc(n + 1, sizeof *s->before);
    if (!s->x || !s->y || !s->w || !s->before) {
        line_sums_free(s);
        return SHOT_ERR_MEMORY;
    }
    take_samples(s, t, y, weights, n);
    add_up(s);
    *out = s;
    return SHOT_OK;
}

void line_sums_free(line_sums *sums) {
    if (!sums)
        return;
    free(sums->x);
    free(sums->y);
    free(sums->w);
    free(sums->before);
    free(sums);
}

/* Number of samples with x <= place, known to be low .. high. */
static size_t bisect(const line_sums *sums, double place, size_t low, size_t high) {
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (sums->x[middle] <= place)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

size_t line_sums_index(const line_sums *sums, double place) {
    return bisect(sums, place, 0, sums->n);
}

size_t line_sums_index_near(const line_sums *sums, double place, size_t guess) {
    const double *x = sums->x;
    size_t low = guess < sums->n ? guess : sums->n, high = low, step = 1;
    for (; low > 0 && x[low - 1] > place; step *= 2) {
        high = low - 1;
        low = low > step ? low - step : 0;
    }
    if (step > 1)
        return bisect(sums, place, low, high);
    for (; high < sums->n && x[high] <= place; step *= 2) {
        low = high + 1;
        high = sums->n - high > step ? high + step : sums->n;
    }
    return bisect(sums, place, low, high);
}

line_moments line_sums_over(const line_sums *sums, size_t from, size_t to, double origin) {
    const line_moments *a = &sums->before[from], *b = &sums->before[to];
    double w = b->w - a->w, x = b->x - a->x, y = b->y - a->y;
    double xx = b->xx - a->xx, xy = b->xy - a->xy, yy = b->yy - a->yy;
    return (line_moments){
        w, x - origin * w, y, xx - 2 * origin * x + origin * origin * w, xy - origin * y, yy};
}

bool line_sums_line(const line_sums *sums, size_t from, size_t to, line_fit *out) {
    if (to < from + 2 || sums->x[from] == sums->x[to - 1])
        return false;
    double middle = 0.5 * (sums->x[from] + sums->x[to - 1]);
    line_moments m = line_sums_over(sums, from, to, middle);
    double offset = m.x / m.w;
    out->sxx = m.xx - m.x * offset;
    out->weight = m.w;
    out->mean_x = middle + offset;
    out->level = m.y / m.w;
    out->slope = (m.xy - offset * m.y) / out->sxx;
    return out->sxx > 0;
}

/* The normal equations of one piece in the values at its two ends. */
typedef struct piece_form {
    double left, both, right;       /* weights of left^2, left * right, right^2 */
    double left_value, right_value; /* products with the samples */
} piece_form;

static piece_form form_of(const line_moments *m, double length) {
    double u = m->x / length, uu = m->xx / (length * length), uy = m->xy / length;
    return (piece_form){m->w - 2 * u + uu, u - uu, uu, m->y - uy, uy};
}

/* Add one piece to the normal equations in the values at all knots. */
static void add_piece(const line_moments *m, double length, double *diagonal, double *off,
                      double *value) {
    piece_form form = form_of(m, length);
    diagonal[0] += form.left;
    diagonal[1] += form.right;
    *off = form.both;
    value[0] += form.left_value;
    value[1] += form.right_value;
}

/* from + yy + p^2 left + 2 p v both + v^2 right - 2 p near - 2 v far, least over the value p at
 * the end that is left behind. */
static line_cost eliminate(const line_cost *from, double yy, double left, double both, double right,
                           double near, double far) {
    double weight = left + from->c, a = near - from->b / 2;
    return (line_cost){from->a + yy - a * a / weight, -2 * (far - both * a / weight),
                       right - both * both / weight};
}

line_cost line_cost_rightward(const line_cost *from, const line_moments *m, double length) {
    piece_form form = form_of(m, length);
    return eliminate(from, m->yy, form.left, form.both, form.right, form.left_value,
                     form.right_value);
}

line_cost line_cost_leftward(const line_cost *from, const line_moments *m, double length) {
    piece_form form = form_of(m, length);
    return eliminate(from, m->yy, form.right, form.both, form.left, form.right_value,
                     form.left_value);
}

/* Solve the symmetric tridiagonal system in place; false where a pivot vanishes. */
static bool solve_tridiagonal(double *diagonal, const double *off, double *value, size_t m) {
    if (!(diagonal[0] > 0))
        return false;
    for (size_t k = 1; k < m; k++) {
        double factor = off[k - 1] / diagonal[k - 1], full = diagonal[k];
        diagonal[k] -= factor * off[k - 1];
        value[k] -= factor * value[k - 1];
        if (!(diagonal[k] > 1e-10 * full))
            return false;
    }
    value[m - 1] /= diagonal[m - 1];
    for (size_t k = m - 1; k-- > 0;)
        value[k] = (value[k] - off[k] * value[k + 1]) / diagonal[k];
    return true;
}

/* At the optimum the explained sum of squares is the product of fit and data. */
static double explained_by(const line_sums *sums, const size_t *cut, const double *knot, size_t m,
                           const double *value) {
    double explained = 0;
    for (size_t k = 0; k + 1 < m; k++) {
        line_moments q = line_sums_over(sums, cut[k], cut[k + 1], knot[k]);
        explained += value[k] * q.y + (value[k + 1] - value[k]) / (knot[k + 1] - knot[k]) * q.xy;
    }
    return explained;
}

double line_sums_broken_at(const line_sums *sums, const size_t *cut, const double *knot, size_t m,
                           double *value, double *work) {
    double *diagonal = work, *off = work + m;
    for (size_t k = 0; k < m; k++)
        diagonal[k] = value[k] = 0;
    for (size_t k = 0; k + 1 < m; k++) {
        line_moments moments = line_sums_over(sums, cut[k], cut[k + 1], knot[k]);
        add_piece(&moments, knot[k + 1] - knot[k], diagonal + k, off + k, value + k);
    }
    if (!solve_tridiagonal(diagonal, off, value, m))
        return INFINITY;
    double total = sums->before[cut[m - 1]].yy - sums->before[cut[0]].yy;
    double rss = total - explained_by(sums, cut, knot, m, value);
    return rss > 0 ? rss : 0;
}

double line_sums_residual(const line_sums *sums, const double *knot, size_t m,
                          const double *value) {
    double rss = 0;
    for (size_t i = 0, k = 0; i < sums->n; i++) {
        while (k + 2 < m && sums->x[i] > knot[k + 1])
            k++;
        double u = (sums->x[i] - knot[k]) / (knot[k + 1] - knot[k]);
        double e = sums->y[i] - (1 - u) * value[k] - u * value[k + 1];
        rss += sums->w[i] * e * e;
    }
    return rss;
}
