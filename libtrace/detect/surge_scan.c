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
#include <string.h>

#include <shottrace/signal/distribution.h>

#include "detect/surge_drive.h"
#include "detect/surge_group.h"
#include "detect/surge_refine.h"
#include "detect/surge_shapes.h"

/* A surge takes 0.2 to 2 s, and stays or heals in the middle time. */
static const struct kind {
    double seconds;
    double scar;
} kinds[] = {{0.2, 1}, {0.6, 1}, {1.2, 1}, {2, 1}, {0.2, 0}, {0.6, 0}, {1.2, 0}, {2, 0}};
enum { KINDS = sizeof kinds / sizeof *kinds, LANES = CONDUCTANCE_LANES }; /* whole vectors */

static conductance_opening opening_of(size_t kind, double onset) {
    return (conductance_opening){.onset = onset,
                                 .seconds = kinds[kind].seconds,
                                 .form = CONDUCTANCE_EVEN,
                                 .scar = kinds[kind].scar,
                                 .healing = 1,
                                 .drain = surge_drain};
}

static const double hop = 0.1;   /* s between the places at which openings are tried */
static const double shown = 2;   /* s from a sample: what opens farther off, in a gap, has opened */
static const double least = 0.5; /* s of samples needed before an onset */
static const double hidden = 2.5;      /* times lower than with its own wander may a score be */
enum { FITTED = 6 };                   /* onset, length, size, level; two of the wander */
enum { SECOND_LOOKS = SURGE_AT_ONCE }; /* candidates judged again, the wander fitted beside them */

/* ---- channels together ---- */

void surge_scan_free(surge_scan *scan) {
    for (size_t k = 0; scan->channels != NULL && k < scan->channel_count; k++)
        surge_channel_free(&scan->channels[k]);
    free(scan->channels);
    *scan = (surge_scan){0};
}

shot_status surge_scan_new(conductance_data *const *channels, size_t count, double from, double to,
                           surge_scan *out) {
    *out =
        (surge_scan){.channels = calloc(count + 1, sizeof *out->channels), .from = from, .to = to};
    if (out->channels == NULL)
        return SHOT_ERR_MEMORY;
    while (out->channel_count < count) {
        size_t k = out->channel_count++;
        SHOT_TRY(surge_channel_new(channels[k], &out->channels[k]));
    }
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

shot_status surge_scan_fit(surge_scan *scan, const conductance_opening *opening) {
    for (size_t k = 0; k < scan->channel_count; k++)
        SHOT_TRY(surge_channel_fit(&scan->channels[k], opening));
    return SHOT_OK;
}

void surge_scan_weigh(const surge_scan *scan, const conductance_opening *openings, size_t count,
                      surge_evidence *out) {
    conductance_evidence each[2][LANES];
    for (size_t k = 0; k < scan->channel_count; k++)
        surge_channel_weigh(&scan->channels[k], openings, count, each[k]);
    for (size_t i = 0; i < count; i++) {
        conductance_evidence both[2] = {each[0][i], each[scan->channel_count > 1][i]};
        out[i] = surge_together(both, scan->channel_count);
    }
}

/* The log-likelihood of all channels, the filters as fitted, without an opening. */
static double likelihood_without(const surge_scan *scan) {
    double sum = 0;
    for (size_t k = 0; k < scan->channel_count; k++)
        sum += scan->channels[k].filter.likelihood + surge_channel_beforehand(&scan->channels[k]);
    return sum;
}

double surge_scan_likelihood_with(const surge_scan *scan, const conductance_opening *opening,
                                  double sign) {
    double sum = 0;
    for (size_t k = 0; k < scan->channel_count; k++) {
        const surge_channel *channel = &scan->channels[k];
        conductance_filter filter = channel->filter;
        conductance_evidence e[LANES];
        surge_channel_weigh(channel, opening, 1, e);
        sum += conductance_explain(channel->data, e,
                                   sign * fmax(0, sign * conductance_best_size(e)), &filter) +
               surge_channel_beforehand(channel);
    }
    return sum;
}

bool surge_scan_counts(const surge_scan *scan) {
    for (size_t k = 0; k < scan->channel_count; k++)
        if (scan->channels[k].data->gate > 0 ||
            (!scan->channels[k].data->summed && scan->channels[k].filter.lane > 1))
            return true;
    return false;
}

bool surge_scan_drains(const surge_scan *scan) {
    for (size_t k = 0; k < scan->channel_count; k++)
        if (scan->channels[k].data->drains)
            return true;
    return false;
}

/* ---- all openings ---- */

typedef struct scores {
    surge_candidate *items;
    size_t count;
    double crossings[KINDS]; /* sum over the hops of 1 - rho */
    double hops[KINDS];
} scores;

surge_gap surge_scan_gap(const surge_scan *scan, double at) {
    surge_gap gap = {-INFINITY, INFINITY};
    for (size_t k = 0; k < scan->channel_count; k++) {
        gap.from = fmax(gap.from, surge_last_before(scan->channels[k].data, at));
        gap.to = fmin(gap.to, surge_first_from(scan->channels[k].data, at));
    }
    return gap;
}

/* The next place after one; a gap that no surge bridges is passed over, however long it is. */
static double next_place(const surge_scan *scan, double at) {
    const surge_gap gap = surge_scan_gap(scan, at);
    double next = at + hop;
    if (next > gap.from + shown && next < gap.to - shown)
        next = gap.to - shown;
    return fmax(next, nextafter(at, INFINITY));
}

static size_t places(const surge_scan *scan) {
    size_t count = 0;
    for (double at = scan->from; at < scan->to; at = next_place(scan, at))
        count++;
    return count;
}

/* The answers of a channel to the openings of one onset, one kind in each lane, and to those of the
 * last onset. */
typedef struct answers {
    conductance_answer now, last;
    double *room[2]; /* [n][LANES] */
} answers;

/* How much they have in common. */
static double correlation(const answers *of, int lane) {
    const double square = of->now.sum.square[lane] * of->last.sum.square[lane];
    return square > 0 ? conductance_answer_common(&of->now, &of->last, lane) / sqrt(square) : 1;
}

/* As many kinds of opening as there are lanes at one onset: their scores, and rho to the last one
 * from the channel in which they differ most. */
static void weigh_next(const surge_scan *scan, const conductance_opening *openings, bool begun,
                       answers *of, double *rho, surge_evidence *out) {
    conductance_evidence each[2][LANES];
    for (int f = 0; f < LANES; f++)
        rho[f] = 1;
    for (size_t k = 0; k < scan->channel_count; k++) {
        of[k].now = surge_channel_answer(&scan->channels[k], openings, LANES, of[k].room[0]);
        conductance_weigh(&of[k].now, openings, LANES, each[k]);
        if (!begun)
            continue;
        conductance_answer_go_on(of[k].now.end, &of[k].last);
        for (int f = 0; f < LANES; f++)
            rho[f] = fmin(rho[f], correlation(&of[k], f));
    }
    for (int f = 0; f < LANES; f++) {
        conductance_evidence both[2] = {each[0][f], each[scan->channel_count > 1][f]};
        out[f] = surge_together(both, scan->channel_count);
    }
}

static void turn(answers *of) {
    double *swap = of->room[0];
    of->room[0] = of->room[1];
    of->room[1] = swap;
    of->last = of->now;
}

static void scan_kinds(const surge_scan *scan, size_t first_kind, answers *of, scores *all) {
    conductance_opening openings[LANES];
    surge_evidence evidence[LANES];
    double rho[LANES];
    bool begun = false;
    for (double at = scan->from; at < scan->to; at = next_place(scan, at)) {
        for (size_t f = 0; f < LANES; f++)
            openings[f] = opening_of(first_kind + f, at);
        weigh_next(scan, openings, begun, of, rho, evidence);
        if (!isfinite(evidence[0].score))
            continue;
        for (size_t f = 0; f < LANES; f++) {
            all->items[all->count++] = (surge_candidate){openings[f], evidence[f]};
            all->crossings[first_kind + f] += 1 - rho[f];
            all->hops[first_kind + f]++;
        }
        begun = true;
        for (size_t k = 0; k < scan->channel_count; k++)
            turn(&of[k]);
    }
}

static shot_status scan_all(const surge_scan *scan, scores *all) {
    answers of[2] = {0};
    shot_status status = SHOT_OK;
    for (size_t k = 0; k < scan->channel_count; k++) {
        size_t room = scan->channels[k].data->n * LANES + 1;
        for (int i = 0; i < 2; i++)
            of[k].room[i] = malloc(room * sizeof(double));
        status = of[k].room[0] && of[k].room[1] ? status : SHOT_ERR_MEMORY;
    }
    for (size_t kind = 0; kind < KINDS && status == SHOT_OK; kind += LANES)
        scan_kinds(scan, kind, of, all);
    for (size_t k = 0; k < 2; k++) {
        free(of[k].room[0]);
        free(of[k].room[1]);
    }
    return status;
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

/* What counts of a score or gain: where it may close, its size. */
static double weight_of(const surge_scan *scan, double value) {
    return scan->closes ? fabs(value) : value;
}

static int compare(double x, double y) {
    return x < y ? 1 : x > y ? -1 : 0;
}

static int higher_first(const void *a, const void *b) {
    return compare(((const surge_candidate *)a)->evidence.score,
                   ((const surge_candidate *)b)->evidence.score);
}

static int farther_first(const void *a, const void *b) {
    return compare(fabs(((const surge_candidate *)a)->evidence.score),
                   fabs(((const surge_candidate *)b)->evidence.score));
}

/* What is as rare for a normal deviate as `t` is for Student's. */
static double as_normal(double t, double freedom) {
    return -shot_normal_quantile(fmax(shot_student_tail(t, freedom), 1e-300));
}

/* The gain of the log-likelihood as a standard score.  The noise is estimated beside it, so that
 * in a short log it is made of Student's t: twice the gain is n log(1 + t^2 / (n - fitted)). */
double surge_scan_score(const surge_scan *scan, double gain) {
    double n = 0;
    for (size_t k = 0; k < scan->channel_count; k++)
        n += (double)scan->channels[k].data->n;
    const double freedom = fmax(1, n - FITTED);
    return as_normal(sqrt(freedom * expm1(2 * fmax(0, gain) / n)), freedom);
}

/* Local maxima first come the highest; each is judged with the wander fitted beside it. */
typedef struct looks {
    surge_candidate first[SECOND_LOOKS]; /* as they stood out */
    size_t count;
    double without, single; /* the log-likelihood without any of them, and the highest with one */
} looks;

static bool is_near(const looks *seen, double onset) {
    for (size_t k = 0; k < seen->count; k++)
        if (fabs(seen->first[k].opening.onset - onset) < 0.5)
            return true;
    return false;
}

/* Those that stand for themselves, the highest first; *found of them. */
static void put_in_order(const surge_candidate *one, surge_candidate *list, size_t *found) {
    size_t place = (*found)++;
    for (; place > 0 && list[place - 1].evidence.score < one->evidence.score; place--)
        list[place] = list[place - 1];
    list[place] = *one;
}

static shot_status choose(surge_scan *scan, scores *all, double least_score, double least_gain,
                          surge_accept accept, const void *user, looks *seen,
                          surge_candidate list[SECOND_LOOKS], size_t *found) {
    *found = 0;
    *seen = (looks){.without = likelihood_without(scan), .single = -INFINITY};
    qsort(all->items, all->count, sizeof *all->items, scan->closes ? farther_first : higher_first);
    for (size_t i = 0; i < all->count && seen->count < SECOND_LOOKS; i++) {
        surge_candidate one = all->items[i];
        if (is_near(seen, one.opening.onset) ||
            weight_of(scan, one.evidence.score) < least_score / hidden ||
            !accept(user, &one.opening))
            continue;
        seen->first[seen->count++] = one;
        SHOT_TRY(surge_refine(scan, &one));
        /* The wander fitted beside an opening may be likelier also without it. */
        const double alone = fmax(seen->without, likelihood_without(scan));
        const double sign = copysign(1, one.evidence.gain);
        const double with = surge_scan_likelihood_with(scan, &one.opening, sign);
        one.evidence.score = surge_scan_score(scan, with - alone);
        double slow = -INFINITY;
        if (one.evidence.score >= least_score / sqrt(2))
            SHOT_TRY(surge_refine_slow(scan, &one, &slow));
        seen->single = fmax(seen->single, fmax(with, slow));
        if (slow > with || !isfinite(one.evidence.score) || one.evidence.score < least_score ||
            weight_of(scan, one.evidence.gain) < least_gain || !accept(user, &one.opening))
            continue;
        put_in_order(&one, list, found);
    }
    return SHOT_OK;
}

static bool is_apart(const surge_candidate *one, const surge_part *others, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (fabs(one->opening.onset - others[i].candidate.opening.onset) <= surge_beside)
            return false;
    return true;
}

/* The highest, and all that are far from those that are higher. */
static shot_status take_apart(surge_scan *scan, const surge_candidate *list, size_t count,
                              surge_part *out, size_t *found) {
    for (size_t i = 0; i < count; i++) {
        if (!is_apart(&list[i], out, *found))
            continue;
        surge_part *one = &out[(*found)++];
        one->candidate = list[i];
        SHOT_TRY(surge_scan_fit(scan, &one->candidate.opening));
        surge_part_estimate(scan, one);
    }
    return SHOT_OK;
}

/* Is there any opening that may be taken?  If not there is nothing to fit. */
static bool any(const surge_scan *scan, surge_accept accept, const void *user) {
    for (double at = scan->from; at < scan->to; at = next_place(scan, at))
        for (size_t kind = 0; kind < KINDS; kind++) {
            const conductance_opening one = opening_of(kind, at);
            if (accept(user, &one))
                return true;
        }
    return false;
}

static bool takes_both(const surge_part *pair, double least_gain, surge_accept accept,
                       const void *user) {
    return pair[0].candidate.evidence.gain >= least_gain &&
           pair[1].candidate.evidence.gain >= least_gain &&
           accept(user, &pair[0].candidate.opening) && accept(user, &pair[1].candidate.opening);
}

static shot_status find_best(surge_scan *scan, scores *all, double alarm_rate, double least_gain,
                             surge_accept accept, const void *user, surge_part *out,
                             size_t *found) {
    looks seen;
    surge_candidate list[SECOND_LOOKS];
    size_t count;
    surge_part pair[2];
    bool two;
    if (!any(scan, accept, user))
        return SHOT_OK;
    SHOT_TRY(surge_scan_fit(scan, NULL));
    SHOT_TRY(scan_all(scan, all));
    const double least_score = threshold(all, alarm_rate);
    SHOT_TRY(choose(scan, all, least_score, least_gain, accept, user, &seen, list, &count));
    SHOT_TRY(surge_pair_find(scan, seen.first, scan->closes ? 0 : seen.count, least_score,
                             seen.without, seen.single, pair, &two));
    if (two && takes_both(pair, least_gain, accept, user)) {
        memcpy(out, pair, sizeof pair);
        *found = 2;
        return SHOT_OK;
    }
    return take_apart(scan, list, count, out, found);
}

static scores scores_new(const surge_scan *scan) {
    return (scores){.items = malloc((KINDS * places(scan) + 1) * sizeof(surge_candidate))};
}

shot_status surge_scan_best(surge_scan *scan, double alarm_rate, double least_gain,
                            surge_accept accept, const void *user, surge_part *out, size_t *found) {
    scores all = scores_new(scan);
    *found = 0;
    shot_status status =
        all.items == NULL ? SHOT_ERR_MEMORY
                          : find_best(scan, &all, alarm_rate, least_gain, accept, user, out, found);
    free(all.items);
    return status;
}
