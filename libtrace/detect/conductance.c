/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Conductance with a step. */
#include "detect/conductance.h"

#include <math.h>
#include <string.h>

#include <shottrace/signal/least_squares.h>

enum { MOST_COLUMNS = 6 }; /* trend to order 4, or 2 and a step, and where a scale starts */

size_t conductance_workspace(size_t n) {
    return MOST_COLUMNS * n + shot_least_squares_workspace(n, MOST_COLUMNS);
}

double conductance_opening(const conductance_step *step, double t) {
    double share = step->seconds > 0 ? (t - step->onset) / step->seconds : t >= step->onset;
    return share < 0 ? 0 : share > 1 ? 1 : share;
}

/* The samples that a step looks at. */
typedef struct stretch {
    size_t first, n;
    double centre, half;
} stretch;

static stretch stretch_of(const conductance_data *data, const conductance_step *step) {
    double from = step->from + data->lag, to = step->to + data->lag;
    stretch s = {.centre = (from + to) / 2 - data->lag, .half = (to - from) / 2};
    while (s.first < data->n && data->t[s.first] < from)
        s.first++;
    while (s.first + s.n < data->n && data->t[s.first + s.n] <= to)
        s.n++;
    return s;
}

/* Column k of the trend at sample i: pressure times u^k. */
static double trend_at(const conductance_data *data, const stretch *s, size_t i, int k) {
    double u = (data->t[i] - data->lag - s->centre) / s->half, power = 1;
    for (int j = 0; j < k; j++)
        power *= u;
    return data->pressure[i] * power;
}

/* What a scale shows is the running integral of it, by the trapezoidal rule on the samples. */
static void sum_up(const conductance_data *data, const stretch *s, double *column) {
    double sum = 0, last = column[0];
    column[0] = 0;
    for (size_t i = 1; i < s->n; i++) {
        double here = column[i], dt = data->t[s->first + i] - data->t[s->first + i - 1];
        sum += dt * (here + last) / 2;
        last = here;
        column[i] = sum;
    }
}

/* The design matrix, column after column: trend, step if any, level of a scale.  Returns the number
 * of columns. */
static size_t design(const conductance_data *data, const stretch *s, int order,
                     const conductance_step *step, double *a) {
    size_t columns = 0;
    for (int k = 0; k <= order; k++, columns++)
        for (size_t i = 0; i < s->n; i++)
            a[columns * s->n + i] = trend_at(data, s, s->first + i, k);
    if (step != NULL) {
        for (size_t i = 0; i < s->n; i++)
            a[columns * s->n + i] = data->pressure[s->first + i] *
                                    conductance_opening(step, data->t[s->first + i] - data->lag);
        columns++;
    }
    for (size_t k = 0; data->summed && k < columns; k++)
        sum_up(data, s, a + k * s->n);
    for (size_t i = 0; data->summed && i < s->n; i++)
        a[columns * s->n + i] = 1;
    return columns + data->summed;
}

/* Least squares on a stretch; x and covariance (as of noise of variance 1) of the columns. */
static shot_status solve(const conductance_data *data, const stretch *s, int order,
                         const conductance_step *step, double *work, double *x, double *covariance,
                         shot_least_squares *fit) {
    size_t columns = design(data, s, order, step, work);
    if (s->n < columns + 1)
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(shot_least_squares_fit(work, data->y + s->first, s->n, columns,
                                    work + MOST_COLUMNS * s->n, x, covariance, fit));
    double variance = fit->sd * fit->sd;
    if (!(variance > 0))
        return SHOT_ERR_SINGULAR;
    for (size_t k = 0; k < columns * columns; k++)
        covariance[k] /= variance;
    return SHOT_OK;
}

shot_status conductance_fit_step(const conductance_data *data, const conductance_step *step,
                                 double *work, conductance_fit *out) {
    double x[MOST_COLUMNS], covariance[MOST_COLUMNS * MOST_COLUMNS];
    shot_least_squares fit;
    stretch s = stretch_of(data, step);
    SHOT_TRY(solve(data, &s, step->order, step, work, x, covariance, &fit));
    size_t place = (size_t)step->order + 1, columns = place + 1 + data->summed;
    double middle = (step->onset + step->seconds / 2 - s.centre) / s.half;
    *out = (conductance_fit){
        .step = x[place],
        .step_se = data->sd * sqrt(covariance[place * columns + place]),
        .base = x[0] + x[1] * middle + (step->order > 1 ? x[2] * middle * middle : 0),
        .rss = fit.sum_of_squares,
        .n = s.n,
        .before = step->onset + data->lag - data->t[s.first],
        .after = data->t[s.first + s.n - 1] - data->lag - step->onset - step->seconds,
    };
    return SHOT_OK;
}

shot_status conductance_fit_trend(const conductance_data *data, const conductance_step *step,
                                  int order, double *work, double *rss) {
    double x[MOST_COLUMNS], covariance[MOST_COLUMNS * MOST_COLUMNS];
    shot_least_squares fit;
    stretch s = stretch_of(data, step);
    SHOT_TRY(solve(data, &s, order, NULL, work, x, covariance, &fit));
    *rss = fit.sum_of_squares;
    return SHOT_OK;
}

shot_status conductance_weights(const conductance_data *data, const conductance_step *step,
                                double *work, double *weights) {
    double x[MOST_COLUMNS], covariance[MOST_COLUMNS * MOST_COLUMNS];
    shot_least_squares fit;
    stretch s = stretch_of(data, step);
    SHOT_TRY(solve(data, &s, step->order, step, work, x, covariance, &fit));
    size_t place = (size_t)step->order + 1, columns = place + 1 + data->summed;
    memset(weights, 0, data->n * sizeof *weights);
    for (size_t i = 0; i < s.n; i++)
        for (size_t k = 0; k < columns; k++)
            weights[s.first + i] += covariance[place * columns + k] * work[k * s.n + i];
    return SHOT_OK;
}
