/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The generalized likelihood ratio test of Willsky & Jones 1976 for openings of unknown instant,
 * length and size.
 *
 * Threshold.  Slid along a stretch in small hops, the score of one kind of opening is a Gaussian
 * process of variance 1; between hops whose scores correlate by rho it passes up through u with
 * probability close to (1 - rho) u phi(u) (Leadbetter, Lindgren & Rootzen 1983, 'Extremes and
 * Related Properties of Random Sequences and Processes', theorem 12.2.9 with alpha = 1), and with
 * no more than tail(u).  rho is that of the filter's answers.  The kinds' probabilities are summed
 * (Bonferroni), which is careful.
 *
 * Wander.  A sudden opening makes the whole trend look as if it wandered, and would hide itself;
 * so the highest candidates are judged again with the wander fitted beside them. */
#include "detect/surge_scan.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>

/* A surge takes 0.2 to 2 s, and stays or heals. */
static const struct kind {
    double seconds, heal;
} kinds[] = {{0.2, INFINITY}, {0.6, INFINITY}, {1.2, INFINITY}, {2, INFINITY},
             {0.2, 5},        {0.6, 5},        {1.2, 5},        {2, 5}};
enum { KINDS = sizeof kinds / sizeof *kinds };

static const double hop = 0.1;    /* s between the places at which openings are tried */
static const double least = 0.5;  /* s of samples needed before an onset, and behind its end */
static const double hidden = 2.5; /* times lower than with its own wander may a score be */
enum { SECOND_LOOKS = 12 };       /* candidates judged again with the wander fitted beside them */

/* Wander from none to 3 % a second and beyond, in steps of a factor of two and of three. */
static const double levels[] = {0, 0.001, 0.002, 0.004, 0.008, 0.016, 0.032, 0.064};
static const double slopes[] = {0, 0.001, 0.003, 0.01, 0.03, 0.1, 0.3};
static const double drifts[] = {0, 0.5, 1, 2};
enum {
    LEVELS = sizeof levels / sizeof *levels,
    SLOPES = sizeof slopes / sizeof *slopes,
    DRIFTS = sizeof drifts / sizeof *drifts
};

/* ---- channels together ---- */

void surge_scan_free(surge_scan *scan) {
    for (size_t k = 0; scan->filters != NULL && k < scan->channel_count; k++)
        conductance_filter_free(&scan->filters[k]);
    free(scan->filters);
    free(scan->wanders);
}

shot_status surge_scan_new(conductance_data *const *channels, size_t count, double from, double to,
                           surge_scan *out) {
    *out = (surge_scan){channels,
                        calloc(count + 1, sizeof *out->filters),
                        calloc(count + 1, sizeof *out->wanders),
                        count,
                        from,
                        to};
    if (out->filters == NULL || out->wanders == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k < count; k++)
        SHOT_TRY(conductance_filter_new(channels[k], &out->filters[k]));
    return SHOT_OK;
}

/* Least squares for one relative gain seen by all channels. */
surge_evidence surge_together(const conductance_evidence *each, size_t count) {
    double along = 0, square = 0;
    for (size_t k = 0; k < count; k++) {
        if (!(each[k].base > 0) || each[k].before < least)
            continue;
        along += each[k].along * each[k].base;
        square += each[k].square * each[k].base * each[k].base;
    }
    return (surge_evidence){along / square, 1 / sqrt(square), along / sqrt(square)};
}

const double surge_drain = 0.4;

conductance_opening surge_seen(const conductance_data *data, const conductance_opening *opening,
                               double drain) {
    conductance_opening seen = *opening;
    seen.onset += data->summed ? drain : 0;
    return seen;
}

static conductance_evidence weigh_one(const surge_scan *scan, size_t k,
                                      const conductance_opening *opening, double *answer) {
    conductance_opening seen = surge_seen(scan->channels[k], opening, surge_drain);
    return conductance_weigh(scan->channels[k], &scan->filters[k], &seen, answer);
}

shot_status surge_weigh(const surge_scan *scan, const conductance_opening *opening,
                        surge_evidence *out) {
    conductance_evidence each[2];
    for (size_t k = 0; k < scan->channel_count; k++)
        each[k] = weigh_one(scan, k, opening, NULL);
    *out = surge_together(each, scan->channel_count);
    return isfinite(out->score) ? SHOT_OK : SHOT_ERR_SINGULAR;
}

/* ---- wander ---- */

static double likelihood_with(const surge_scan *scan, size_t k,
                              const conductance_opening *opening) {
    const conductance_filter *filter = &scan->filters[k];
    if (opening == NULL)
        return filter->likelihood;
    conductance_evidence e = weigh_one(scan, k, opening, NULL);
    return filter->likelihood + (e.square > 0 ? e.along * e.along / e.square / 2 : 0);
}

/* A place in the grid of wander. */
typedef struct place {
    int level, slope, drift;
} place;

static conductance_wander wander_at(place at) {
    return (conductance_wander){levels[at.level], slopes[at.slope], drifts[at.drift]};
}

static bool try_place(surge_scan *scan, size_t k, const conductance_opening *opening, place at,
                      double *most) {
    if (at.level < 0 || at.level >= LEVELS || at.slope < 0 || at.slope >= SLOPES || at.drift < 0 ||
        at.drift >= DRIFTS)
        return false;
    conductance_filter_run(scan->channels[k], wander_at(at), &scan->filters[k]);
    double now = likelihood_with(scan, k, opening);
    if (!(now > *most))
        return false;
    *most = now;
    return true;
}

/* Up the likelihood from `at`, one step in one direction at a time. */
static place climb(surge_scan *scan, size_t k, const conductance_opening *opening, place at) {
    static const place steps[] = {{1, 0, 0},  {-1, 0, 0}, {0, 1, 0},  {0, -1, 0}, {0, 0, 1},
                                  {0, 0, -1}, {-1, 1, 0}, {1, -1, 0}, {-1, 0, 1}, {1, 0, -1}};
    double most = -INFINITY;
    bool better = try_place(scan, k, opening, at, &most);
    while (better) {
        place from = at;
        better = false;
        for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
            place to = {from.level + steps[i].level, from.slope + steps[i].slope,
                        from.drift + steps[i].drift};
            if (try_place(scan, k, opening, to, &most)) {
                at = to;
                better = true;
            }
        }
    }
    return at;
}

static place place_of(conductance_wander wander) {
    place at = {0, 0, 0};
    while (levels[at.level] < wander.level)
        at.level++;
    while (slopes[at.slope] < wander.slope)
        at.slope++;
    while (drifts[at.drift] < wander.drift)
        at.drift++;
    return at;
}

/* From some starts, the last of them where it stood: the likelihood may have several tops. */
static void fit_one(surge_scan *scan, size_t k, const conductance_opening *opening) {
    const place starts[] = {{0, 1, 0}, {5, 3, 1}, place_of(scan->wanders[k])};
    double most = -INFINITY;
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        place top = climb(scan, k, opening, starts[i]);
        if (try_place(scan, k, opening, top, &most))
            scan->wanders[k] = wander_at(top);
    }
    conductance_filter_run(scan->channels[k], scan->wanders[k], &scan->filters[k]);
}

void surge_scan_fit(surge_scan *scan, const conductance_opening *opening) {
    for (size_t k = 0; k < scan->channel_count; k++)
        fit_one(scan, k, opening);
}

/* ---- all openings ---- */

typedef struct scores {
    surge_candidate *items;
    size_t count;
    double crossings[KINDS]; /* sum over the hops of 1 - rho */
    double hops[KINDS];
} scores;

static size_t places(const surge_scan *scan) {
    return (size_t)fmax(0, (scan->to - scan->from) / hop) + 2;
}

/* How much an opening and the last one of its kind have in common. */
static double correlation(const double *a, const double *b, size_t n) {
    double ab = 0, aa = 0, bb = 0;
    for (size_t i = 0; i < n; i++) {
        ab += a[i] * b[i];
        aa += a[i] * a[i];
        bb += b[i] * b[i];
    }
    return aa > 0 && bb > 0 ? ab / sqrt(aa * bb) : 1;
}

/* One opening: its score, and rho to the last one from the channel in which they differ most. */
static double weigh_next(const surge_scan *scan, const conductance_opening *opening,
                         double *const *answers, double *const *last, surge_evidence *out) {
    conductance_evidence each[2];
    double rho = 1;
    for (size_t k = 0; k < scan->channel_count; k++) {
        each[k] = weigh_one(scan, k, opening, answers[k]);
        rho = fmin(rho, correlation(answers[k], last[k], scan->channels[k]->n));
    }
    *out = surge_together(each, scan->channel_count);
    return rho;
}

static void scan_kind(const surge_scan *scan, size_t kind, double *const *answers, scores *all) {
    double *now[2] = {answers[0], answers[1]}, *last[2] = {answers[2], answers[3]};
    bool begun = false;
    for (double at = scan->from + least; at < scan->to - least; at += hop) {
        surge_candidate *one = &all->items[all->count];
        one->opening = (conductance_opening){at, kinds[kind].seconds, 1, kinds[kind].heal};
        double rho = weigh_next(scan, &one->opening, now, last, &one->evidence);
        if (!isfinite(one->evidence.score))
            continue;
        all->crossings[kind] += begun ? 1 - rho : 0;
        all->hops[kind]++;
        all->count++;
        begun = true;
        for (int k = 0; k < 2; k++) {
            double *swap = now[k];
            now[k] = last[k];
            last[k] = swap;
        }
    }
}

/* ---- threshold ---- */

static double chance_above(const scores *all, double u) {
    double p = 0, tail = shot_normal_tail(u), up = u * shot_normal_density(u);
    for (size_t f = 0; f < KINDS; f++)
        p += tail + fmin(all->crossings[f] * up, all->hops[f] * tail);
    return p;
}

static double threshold(const scores *all, double rate) {
    double low = 1, high = 12; /* falls from many to none between these */
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (chance_above(all, middle) > rate)
            low = middle;
        else
            high = middle;
    }
    return high;
}

/* ---- the best ---- */

static int higher_first(const void *a, const void *b) {
    double x = ((const surge_candidate *)a)->evidence.score;
    double y = ((const surge_candidate *)b)->evidence.score;
    return x < y ? 1 : x > y ? -1 : 0;
}

/* Local maxima first come the highest; each is judged with the wander fitted beside it. */
static void choose(surge_scan *scan, scores *all, double least_score, double least_gain,
                   surge_accept accept, const void *user, surge_candidate *best) {
    double seen[SECOND_LOOKS];
    size_t looks = 0;
    qsort(all->items, all->count, sizeof *all->items, higher_first);
    for (size_t i = 0; i < all->count && looks < SECOND_LOOKS; i++) {
        surge_candidate one = all->items[i];
        bool near = false;
        for (size_t k = 0; k < looks; k++)
            near = near || fabs(seen[k] - one.opening.onset) < 0.5;
        if (near || one.evidence.score < least_score / hidden || !accept(user, &one.opening))
            continue;
        seen[looks++] = one.opening.onset;
        surge_scan_fit(scan, &one.opening);
        if (surge_weigh(scan, &one.opening, &one.evidence) != SHOT_OK ||
            one.evidence.score < least_score || one.evidence.score <= best->evidence.score ||
            one.evidence.gain < least_gain)
            continue;
        *best = one;
    }
}

shot_status surge_scan_best(surge_scan *scan, double alarm_rate, double least_gain,
                            surge_accept accept, const void *user, surge_candidate *best) {
    scores all = {.items = malloc(KINDS * places(scan) * sizeof *all.items)};
    double *answers[4] = {NULL, NULL, NULL, NULL};
    shot_status status = all.items ? SHOT_OK : SHOT_ERR_MEMORY;
    for (size_t k = 0; k < 4; k++) {
        size_t n = k % 2 < scan->channel_count ? scan->channels[k % 2]->n : 0;
        answers[k] = calloc(n + 1, sizeof(double));
        status = answers[k] ? status : SHOT_ERR_MEMORY;
    }
    best->evidence = (surge_evidence){NAN, NAN, -INFINITY};
    if (status == SHOT_OK) {
        surge_scan_fit(scan, NULL);
        for (size_t kind = 0; kind < KINDS; kind++)
            scan_kind(scan, kind, answers, &all);
        choose(scan, &all, threshold(&all, alarm_rate), least_gain, accept, user, best);
        surge_scan_fit(scan, isfinite(best->evidence.score) ? &best->opening : NULL);
    }
    if (!isfinite(best->evidence.score))
        best->evidence.score = NAN;
    for (size_t k = 0; k < 4; k++)
        free(answers[k]);
    free(all.items);
    return status;
}
