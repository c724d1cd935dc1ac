/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The limits that noise and sampling set to the onset of an opening. */
#include "support/ideal_opening.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/least_squares.h>

static const double beside = 5;                  /* s on either side in which a trend is straight */
static const double shortest = 0.2, longest = 2; /* s that an opening takes */
static const double settled = 0.5;               /* s before it that show the slope of the trend */

/* Unknowns of both channels: length and gain; then of each its line, and the weight at first. */
enum { LENGTH, GAIN, SHARED, LEVEL = 0, SLOPE, START, OF_CHANNEL };
enum { ONSET = SHARED + OF_CHANNEL, DERIVATIVES };

/* ---- derivatives ---- */

static double curve_at(const ideal_curves *curves, const double *curve, double t) {
    const double place = floor(t / curves->step + 0.5);
    return place >= 0 && place < (double)curves->count ? curve[(size_t)place] : 0;
}

/* The conductance before the opening, its slope then, and by how much more than that line it has
 * grown in the end. */
typedef struct truth {
    const ideal_curves *curves;
    double onset, end; /* s */
    double before, slope, height;
} truth;

static truth truth_of(const ideal_curves *curves, const ideal_opening *opening) {
    const double onset = opening->onset, end = onset + opening->seconds;
    truth out = {.curves = curves, .onset = onset, .end = end};
    out.before = curve_at(curves, curves->conductance, onset);
    out.slope = (out.before - curve_at(curves, curves->conductance, onset - settled)) / settled;
    out.height =
        curve_at(curves, curves->conductance, end) - out.before - out.slope * opening->seconds;
    return out;
}

/* S and its rate, 1/s. */
static double share_at(const truth *of, double t) {
    if (t <= of->onset || t >= of->end)
        return t > of->onset;
    const double g = curve_at(of->curves, of->curves->conductance, t);
    return (g - of->before - of->slope * (t - of->onset)) / of->height;
}

static double rate_at(const truth *of, double t) {
    const double step = of->curves->step, from = fmax(t - step, of->onset);
    const double to = fmin(t + step, of->end);
    return t > of->onset && t < of->end ? (share_at(of, to) - share_at(of, from)) / (to - from) : 0;
}

/* By length, gain, level, slope and onset, of the flow through the puck. */
static void of_flow(const truth *of, double t, double out[]) {
    const double pressure = curve_at(of->curves, of->curves->puck, t);
    const double steep = of->height * rate_at(of, t) * pressure, after = t - of->onset;
    out[LENGTH] = -steep * after / (of->end - of->onset);
    out[GAIN] = share_at(of, t) * pressure;
    out[SHARED + LEVEL] = pressure;
    out[SHARED + SLOPE] = after * pressure;
    out[SHARED + START] = 0;
    out[ONSET] = -steep;
}

/* From the start of a stretch on, at the steps of the curves; the weight gathers the flow. */
static void of_weight(const truth *of, double start, double t, double out[]) {
    const double step = of->curves->step;
    double each[DERIVATIVES];
    for (int k = 0; k < DERIVATIVES; k++)
        out[k] = 0;
    for (double at = start + step / 2; at < t; at += step) {
        of_flow(of, at, each);
        for (int k = 0; k < DERIVATIVES; k++)
            out[k] += step * each[k];
    }
    out[SHARED + START] = 1;
}

/* ---- the samples ---- */

typedef struct matrix {
    double *columns[DERIVATIVES + OF_CHANNEL]; /* shared, of either channel, by the onset */
    size_t rows;
} matrix;

static void add_row(const double derivatives[], size_t second, double times, matrix *out) {
    const size_t last = DERIVATIVES + OF_CHANNEL - 1, own = SHARED + second * OF_CHANNEL;
    for (size_t k = 0; k <= last; k++)
        out->columns[k][out->rows] = 0;
    for (size_t k = 0; k < SHARED; k++)
        out->columns[k][out->rows] = times * derivatives[k];
    for (size_t k = 0; k < OF_CHANNEL; k++)
        out->columns[own + k][out->rows] = times * derivatives[SHARED + k];
    out->columns[last][out->rows++] = times * derivatives[ONSET];
}

static void add_channel(const ideal_curves *curves, size_t channel, const double *times,
                        size_t rows, const ideal_opening *opening, matrix *out) {
    const bool summed = curves->shows[channel] == IDEAL_WEIGHT;
    const double lag = summed ? curves->scale_lag : 0;
    const double from = fmax(opening->from, opening->onset - beside);
    const double to = fmin(opening->to, opening->onset + opening->seconds + beside);
    const truth of = truth_of(curves, opening);
    for (size_t i = 0; i < rows; i++) {
        double each[DERIVATIVES];
        const double t = times[i] - lag;
        if (isnan(curves->logged[channel][i]) || t < from || t > to)
            continue;
        if (summed)
            of_weight(&of, from, t, each);
        else
            of_flow(&of, t, each);
        add_row(each, summed, 1 / curves->noise[channel], out);
    }
}

/* An even spread over the lengths. */
static void add_length(matrix *out) {
    double each[DERIVATIVES] = {0};
    each[LENGTH] = 1;
    add_row(each, 0, sqrt(12) / (longest - shortest), out);
}

/* ---- the bound ---- */

static bool is_empty(const double *column, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (column[i] != 0)
            return false;
    return true;
}

/* The square of what all other columns leave of that by the onset. */
static double information(const matrix *of) {
    const size_t last = DERIVATIVES + OF_CHANNEL - 1;
    double *packed = malloc(last * of->rows * sizeof *packed), x[DERIVATIVES + OF_CHANNEL];
    double *work = malloc(shot_least_squares_workspace(of->rows, last) * sizeof *work);
    size_t columns = 0;
    shot_least_squares fit = {.sum_of_squares = 0};
    if (packed == NULL || work == NULL)
        abort();
    for (size_t k = 0; k < last; k++) {
        if (is_empty(of->columns[k], of->rows))
            continue;
        for (size_t i = 0; i < of->rows; i++)
            packed[columns * of->rows + i] = of->columns[k][i];
        columns++;
    }
    if (of->rows <= columns || shot_least_squares_fit(packed, of->columns[last], of->rows, columns,
                                                      work, x, NULL, &fit) != SHOT_OK)
        fit.sum_of_squares = 0;
    free(packed);
    free(work);
    return fit.sum_of_squares;
}

double ideal_opening_width(const ideal_curves *curves, const double *times, size_t rows,
                           const ideal_opening *opening) {
    matrix all = {.rows = 0};
    for (size_t k = 0; k < DERIVATIVES + OF_CHANNEL; k++) {
        all.columns[k] = malloc((2 * rows + 1) * sizeof(double));
        if (all.columns[k] == NULL)
            abort();
    }
    for (size_t c = 0; c < curves->channels; c++)
        if (curves->shows[c] != IDEAL_PRESSURE)
            add_channel(curves, c, times, rows, opening, &all);
    add_length(&all);
    const double sum = information(&all);
    for (size_t k = 0; k < DERIVATIVES + OF_CHANNEL; k++)
        free(all.columns[k]);
    const double noise_limit = sum > 0 ? 2 * 1.959964 / sqrt(sum) : INFINITY;
    return fmax(noise_limit, ideal_sampling_limit(times, rows, opening->onset));
}
