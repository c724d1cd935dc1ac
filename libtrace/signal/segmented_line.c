/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_search.h"
#include "signal/line_sums.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/segmented_line.h>

/* A linear form in the noise over two neighbouring pieces: sample i of piece s has the coefficient
 * sqrt(w_i) (level[s] + tilt[s] (x_i - mean[s])), pieces being samples first[s] .. first[s+1]-1. */
typedef struct contrast {
    size_t first[3];
    double mean[2], level[2], tilt[2];
} contrast;

/* Variance of the form for noise of unit variance and correlation exp(-|lag|/corr): the double sum
 * over samples, folded into one pass because the correlation of a chain is a product. */
static double variance_of(const line_sums *sums, const contrast *c, double corr) {
    double variance = 0, carried = 0;
    size_t begin = c->first[0], end = c->first[2];
    for (size_t i = begin; i < end; i++) {
        int side = i >= c->first[1];
        double g =
            sqrt(sums->w[i]) * (c->level[side] + c->tilt[side] * (sums->x[i] - c->mean[side]));
        if (corr > 0 && i > begin)
            carried *= exp(-(sums->x[i] - sums->x[i - 1]) / corr);
        else
            carried = 0;
        variance += g * (g + 2 * carried);
        carried += g;
    }
    return variance;
}

/* What the linearised model says about one break: with the samples of each piece held, the break
 * is the crossing of two free lines (Hudson 1966). */
typedef struct linearised {
    double place, place_white; /* variance of the place, correlated and white noise of SD 1 */
    double change;             /* variance of the change of slope */
} linearised;

static bool linearise(const line_sums *sums, const size_t first[3], double at, double change,
                      double corr, linearised *out) {
    line_fit line[2];
    contrast place = {.first = {first[0], first[1], first[2]}}, slope = place;
    for (int s = 0; s < 2; s++) {
        if (!line_sums_line(sums, first[s], first[s + 1], &line[s]))
            return false;
        double sign = s ? 1 : -1;
        place.mean[s] = slope.mean[s] = line[s].mean_x;
        place.level[s] = sign / line[s].weight / change;
        place.tilt[s] = sign * (at - line[s].mean_x) / line[s].sxx / change;
        slope.tilt[s] = sign / line[s].sxx;
    }
    out->place = variance_of(sums, &place, corr);
    out->place_white = corr > 0 ? variance_of(sums, &place, 0) : out->place;
    out->change = variance_of(sums, &slope, corr);
    return true;
}

static double slope_variance(const line_sums *sums, size_t from, size_t to, double corr) {
    line_fit line;
    if (!line_sums_line(sums, from, to, &line))
        return INFINITY;
    contrast form = {.first = {from, to, to}, .mean = {line.mean_x}, .tilt = {1 / line.sxx}};
    return variance_of(sums, &form, corr);
}

/* How much correlation widens the variance of an average: (1 + r) / (1 - r) for neighbours'
 * correlation r.  Used where a piece is too short to be asked. */
static double inflation(const line_sums *sums, double corr) {
    double step = (sums->x[sums->n - 1] - sums->x[0]) / (double)(sums->n - 1);
    return corr > 0 ? 1 / tanh(step / (2 * corr)) : 1;
}

static void fill_pieces(shot_segmented_line *line, const line_sums *sums, const double *knot,
                        const double *value, double corr) {
    size_t from = 0;
    for (size_t k = 0; k <= line->count; k++) {
        size_t to = k == line->count ? sums->n : line_sums_index(sums, knot[k + 1]);
        shot_line_piece *p = &line->pieces[k];
        p->from = knot[k] + sums->x0;
        p->to = knot[k + 1] + sums->x0;
        p->value_from = value[k] + sums->y0;
        p->value_to = value[k + 1] + sums->y0;
        p->slope = (value[k + 1] - value[k]) / (knot[k + 1] - knot[k]);
        p->slope_se = line->sd * sqrt(slope_variance(sums, from, to, corr));
        p->samples = to - from;
        from = to;
    }
}

static void fill_break(shot_segmented_line *line, size_t j, line_search *search,
                       const shot_segmented_line_options *options) {
    const line_sums *sums = search->sums;
    shot_line_break *b = &line->breaks[j];
    double at = search->best[j];
    size_t first[3] = {j ? line_sums_index(sums, search->best[j - 1]) : 0,
                       line_sums_index(sums, at),
                       j + 1 < line->count ? line_sums_index(sums, search->best[j + 1]) : sums->n};
    linearised v;
    double sd = line->sd, ratio = inflation(sums, options->corr);
    b->at = at + sums->x0;
    b->value = line->pieces[j].value_to;
    b->change = line->pieces[j + 1].slope - line->pieces[j].slope;
    b->se = b->change_se = INFINITY;
    if (linearise(sums, first, at, b->change, options->corr, &v)) {
        b->se = sd * sqrt(v.place);
        b->change_se = sd * sqrt(v.change);
        ratio = v.place / v.place_white;
    }
    double low = at - options->z * b->se, high = at + options->z * b->se;
    if (options->interval == SHOT_INTERVAL_PROFILE)
        line_search_profile(search, j, options->z * options->z * sd * sd * ratio,
                            isfinite(b->se) ? b->se : 0, &low, &high);
    b->low = fmax(low, sums->x[0]) + sums->x0;
    b->high = fmin(high, sums->x[sums->n - 1]) + sums->x0;
}

static shot_status describe(line_search *search, const shot_segmented_line_options *options,
                            shot_segmented_line *line) {
    const line_sums *sums = search->sums;
    if (!isfinite(line_search_cost(search, search->best)))
        return SHOT_ERR_SINGULAR;
    line->used = sums->n;
    line->rss = line_sums_residual(sums, search->knot, line->count + 2, search->value);
    double freedom = (double)sums->n - 2 - 2 * (double)line->count;
    line->sd = options->sd > 0 ? options->sd : sqrt(line->rss / freedom);
    fill_pieces(line, sums, search->knot, search->value, options->corr);
    for (size_t j = 0; j < line->count; j++)
        fill_break(line, j, search, options);
    return SHOT_OK;
}

static shot_segmented_line *line_new(size_t count) {
    shot_segmented_line *line = calloc(1, sizeof *line);
    if (!line)
        return NULL;
    line->count = count;
    line->breaks = calloc(count + 1, sizeof *line->breaks);
    line->pieces = calloc(count + 1, sizeof *line->pieces);
    if (line->breaks && line->pieces)
        return line;
    shot_segmented_line_free(line);
    return NULL;
}

static bool options_valid(const shot_segmented_line_options *o) {
    return o && o->sd >= 0 && isfinite(o->sd) && o->corr >= 0 && isfinite(o->corr) && o->z > 0 &&
           isfinite(o->z);
}

static bool starts_valid(const line_sums *sums, const double *starts, size_t count) {
    for (size_t j = 0; starts && j < count; j++) {
        double x = starts[j] - sums->x0;
        if (!(x > sums->x[0] && x < sums->x[sums->n - 1]) || (j && !(starts[j] > starts[j - 1])))
            return false;
    }
    return true;
}

static shot_status fit_sums(const line_sums *sums, const double *starts, size_t count,
                            const shot_segmented_line_options *options, shot_segmented_line **out) {
    if (sums->n < 3 + 2 * count || !(sums->x[sums->n - 1] > sums->x[0]))
        return SHOT_ERR_SINGULAR;
    if (!starts_valid(sums, starts, count))
        return SHOT_ERR_RANGE;
    line_search *search;
    SHOT_TRY(
        line_search_new(sums, count, options->min_samples ? options->min_samples : 2, &search));
    shot_status status =
        starts ? line_search_from(search, starts, count) : line_search_whole(search);
    shot_segmented_line *line = status == SHOT_OK ? line_new(count) : NULL;
    if (status == SHOT_OK)
        status = line ? describe(search, options, line) : SHOT_ERR_MEMORY;
    line_search_free(search);
    if (status == SHOT_OK)
        *out = line;
    else
        shot_segmented_line_free(line);
    return status;
}

shot_status shot_segmented_line_fit(const double *t, const double *y, size_t n,
                                    const double *starts, size_t count,
                                    const shot_segmented_line_options *options,
                                    shot_segmented_line **out) {
    *out = NULL;
    if (!options_valid(options))
        return SHOT_ERR_RANGE;
    line_sums *sums;
    SHOT_TRY(line_sums_new(t, y, options->weights, n, &sums));
    shot_status status = fit_sums(sums, starts, count, options, out);
    line_sums_free(sums);
    return status;
}

double shot_segmented_line_value(const shot_segmented_line *line, double t) {
    size_t k = 0;
    while (k < line->count && t > line->breaks[k].at)
        k++;
    const shot_line_piece *p = &line->pieces[k];
    return p->value_from + p->slope * (t - p->from);
}

void shot_segmented_line_free(shot_segmented_line *line) {
    if (!line)
        return;
    free(line->breaks);
    free(line->pieces);
    free(line);
}
