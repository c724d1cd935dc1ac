/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The matched filter.
 *
 * Threshold.  Slid along the brew, the score of one filter is a Gaussian process of variance 1
 * whose correlation falls linearly from lag 0, rho(h) = 1 - c |h|; its maximum over T seconds
 * exceeds u with probability close to T c u phi(u), plus tail(u) for the start (Leadbetter,
 * Lindgren & Rootzen 1983, 'Extremes and Related Properties of Random Sequences and Processes',
 * theorem 12.2.9 with alpha = 1).  The filters' probabilities are summed (Bonferroni), which is
 * careful.
 *
 * Noise that is not white, and a puck whose resistance wanders, make the score larger than 1 all
 * along the brew; its own median absolute value says by how much (an empirical null, Efron 2004,
 * 'Large-scale simultaneous hypothesis testing', J. Am. Stat. Assoc. 99:96-104). */
#include "detect/surge_scan.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/median.h>

/* A surge takes 0.2 to 2 s; the trend around it is a line for some seconds and a parabola for
 * longer. */
static const struct {
    double seconds, reach; /* of the opening, and before and after it */
    int order;
} filters[] = {
    {0.2, 1.5, 1}, {0.2, 3, 1}, {0.2, 6, 2}, {0.8, 1.5, 1}, {0.8, 3, 1},
    {0.8, 6, 2},   {1.6, 2, 1}, {1.6, 3, 1}, {1.6, 6, 2},
};
enum { FILTERS = sizeof filters / sizeof *filters };

static const double hop = 0.1;   /* s between the places at which filters are tried */
static const double least = 0.7; /* s of trend needed on either side */

shot_status surge_weigh(const surge_scan *scan, const conductance_step *step, surge_evidence *out) {
    double weight = 0, sum = 0;
    *out = (surge_evidence){.before = INFINITY, .after = INFINITY};
    for (size_t k = 0; k < scan->channel_count; k++) {
        const conductance_data *data = scan->channels[k];
        conductance_fit fit;
        if (conductance_fit_step(data, step, scan->work, &fit) != SHOT_OK || !(fit.base > 0))
            continue;
        double gain = fit.step / fit.base, se = fit.step_se / fit.base;
        weight += 1 / (se * se);
        sum += gain / (se * se);
        out->chi2 += fit.rss / (data->sd * data->sd);
        out->n += fit.n;
        out->before = fmin(out->before, fit.before);
        out->after = fmin(out->after, fit.after);
    }
    if (out->n == 0)
        return SHOT_ERR_SINGULAR;
    out->gain = sum / weight;
    out->gain_se = 1 / sqrt(weight);
    return SHOT_OK;
}

static conductance_step filter_at(size_t f, double onset) {
    double seconds = filters[f].seconds, reach = filters[f].reach;
    return (conductance_step){onset, seconds, onset - reach, onset + seconds + reach,
                              filters[f].order};
}

/* c of the correlation 1 - c |h| of a filter's score, from its weights here and a hop later. */
static double roughness(const surge_scan *scan, const conductance_data *data, size_t filter,
                        double *weights) {
    double middle = (scan->from + scan->to) / 2;
    conductance_step here = filter_at(filter, middle), there = filter_at(filter, middle + hop);
    double *a = weights, *b = weights + data->n, ab = 0, aa = 0, bb = 0;
    if (conductance_weights(data, &here, scan->work, a) != SHOT_OK ||
        conductance_weights(data, &there, scan->work, b) != SHOT_OK)
        return 1 / hop;
    for (size_t i = 0; i < data->n; i++) {
        ab += a[i] * b[i];
        aa += a[i] * a[i];
        bb += b[i] * b[i];
    }
    return (1 - ab / sqrt(aa * bb)) / hop;
}

/* Sum over the filters of the probability that noise exceeds u, less the rate. */
static double excess(double u, double seconds, const double *c, double rate) {
    double p = 0;
    for (size_t f = 0; f < FILTERS; f++)
        p += shot_normal_tail(u) + seconds * c[f] * u * shot_normal_density(u);
    return p - rate;
}

static shot_status threshold(const surge_scan *scan, double rate, double *out) {
    double c[FILTERS] = {0};
    for (size_t k = 0; k < scan->channel_count; k++) {
        const conductance_data *data = scan->channels[k];
        double *weights = malloc((2 * data->n + 1) * sizeof *weights);
        if (weights == NULL)
            return SHOT_ERR_MEMORY;
        for (size_t f = 0; f < FILTERS; f++)
            c[f] = fmax(c[f], roughness(scan, data, f, weights));
        free(weights);
    }
    double low = 1, high = 12; /* falls from many to none between these */
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (excess(middle, scan->to - scan->from, c, rate) > 0)
            low = middle;
        else
            high = middle;
    }
    *out = high;
    return SHOT_OK;
}

/* Every filter at every place. */
typedef struct scores {
    surge_candidate *items;
    surge_evidence *evidence;
    size_t count;
} scores;

static void score_all(const surge_scan *scan, scores *all) {
    for (size_t f = 0; f < FILTERS; f++)
        for (double at = scan->from + least; at < scan->to - least - filters[f].seconds;
             at += hop) {
            surge_candidate *one = &all->items[all->count];
            surge_evidence *evidence = &all->evidence[all->count];
            one->step = filter_at(f, at);
            if (surge_weigh(scan, &one->step, evidence) != SHOT_OK || evidence->before < least ||
                evidence->after < least)
                continue;
            one->score = evidence->gain / evidence->gain_se;
            all->count++;
        }
}

/* By how much scores are larger than those of white noise; never less than 1. */
static double enlargement(const scores *all, double *work) {
    for (size_t i = 0; i < all->count; i++)
        work[i] = fabs(all->items[i].score);
    return all->count > 0 ? fmax(1, SHOT_MAD_TO_SD * shot_median(work, all->count)) : 1;
}

static void choose(const scores *all, double least_score, double enlarged, surge_accept accept,
                   const void *user, surge_candidate *best) {
    best->score = NAN;
    for (size_t i = 0; i < all->count; i++) {
        double score = all->items[i].score / enlarged;
        if (score < least_score || score <= best->score ||
            !accept(user, &all->items[i].step, &all->evidence[i]))
            continue;
        *best = all->items[i];
        best->score = score;
    }
}

shot_status surge_scan_best(const surge_scan *scan, double alarm_rate, surge_accept accept,
                            const void *user, surge_candidate *best) {
    double least_score;
    size_t room = FILTERS * (size_t)((scan->to - scan->from) / hop + 2);
    *best = (surge_candidate){.score = NAN};
    SHOT_TRY(threshold(scan, alarm_rate, &least_score));
    scores all = {malloc(room * sizeof *all.items), malloc(room * sizeof *all.evidence), 0};
    double *work = malloc(room * sizeof *work);
    shot_status status = all.items && all.evidence && work ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        score_all(scan, &all);
        choose(&all, least_score, enlargement(&all, work), accept, user, best);
    }
    free(all.items);
    free(all.evidence);
    free(work);
    return status;
}
