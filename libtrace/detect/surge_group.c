/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two openings within a few seconds hide each other: one long one, or a trend that wanders, looks
 * like both.  Each is fitted to what is left when the others are taken out, in turn, until none
 * changes (Li & Stoica 1996, 'Efficient mixed-spectrum estimation with applications to target
 * feature extraction', IEEE Trans. Signal Process. 44:281-295: cyclic minimization).
 *
 * A pair is tried from any two first guesses.  Under noise alone the highest gain of two openings
 * passes the sum of two thresholds no oftener than at the square of the rate of one. */
#include "detect/surge_group.h"

#include <math.h>
#include <string.h>

#include "detect/surge_refine.h"

static const double nearest = 0.5, farthest = 4; /* s between the onsets of a pair */
static const double touching = 0.1; /* s by which one may begin before the other has ended */
static const double pause = 0.2;    /* s between two openings: one that goes on so soon is one, the
                                       shortest surge being as long */
static const double told_apart =
    0.1; /* size over that of the other: less is the misfit of its shape */
enum { LANES = CONDUCTANCE_LANES, TURNS = 8, GUESSES = 6 };

/* ---- parts ---- */

void surge_part_estimate(surge_scan *scan, surge_part *part) {
    for (size_t k = 0; k < scan->channel_count; k++) {
        const surge_channel *channel = &scan->channels[k];
        conductance_evidence e[LANES];
        surge_channel_weigh(channel, &part->candidate.opening, 1, e);
        part->size[k] = conductance_best_size(e);
    }
}

static void take_out(surge_scan *scan, const surge_part *part, double times) {
    for (size_t k = 0; k < scan->channel_count; k++) {
        surge_channel *channel = &scan->channels[k];
        conductance_take_out(channel->data, channel->steps, &part->candidate.opening,
                             times * part->size[k], channel->added);
    }
}

void surge_part_take_out(surge_scan *scan, const surge_part *part) {
    take_out(scan, part, 1);
}

void surge_part_put_back(surge_scan *scan, const surge_part *part) {
    take_out(scan, part, -1);
}

static bool is_same(const conductance_opening *a, const conductance_opening *b) {
    return a->onset == b->onset && a->seconds == b->seconds && a->form == b->form &&
           a->scar == b->scar && a->healing == b->healing && a->drain == b->drain &&
           a->gate == b->gate;
}

shot_status surge_part_fit(surge_scan *scan, surge_part *part) {
    SHOT_TRY(surge_refine(scan, &part->candidate));
    surge_part_estimate(scan, part);
    surge_part_take_out(scan, part);
    return SHOT_OK;
}

shot_status surge_group_refine(surge_scan *scan, surge_part *parts, size_t count) {
    bool changed = count > 1;
    for (int turn = 0; turn < TURNS && changed; turn++) {
        changed = false;
        for (size_t i = 0; i < count; i++) {
            const conductance_opening before = parts[i].candidate.opening;
            surge_part_put_back(scan, &parts[i]);
            SHOT_TRY(surge_part_fit(scan, &parts[i]));
            changed = changed || !is_same(&before, &parts[i].candidate.opening);
        }
    }
    return SHOT_OK;
}

/* s from the end of one to the onset of the other; less than 0 where they overlap. */
static double between(const conductance_opening *a, const conductance_opening *b) {
    return fmax(b->onset - (a->onset + a->seconds), a->onset - (b->onset + b->seconds));
}

static bool is_smaller(const surge_part *part, const surge_part *than) {
    return fabs(part->candidate.evidence.gain) < fabs(than->candidate.evidence.gain);
}

bool surge_part_belongs_to(const surge_part *part, const surge_part *larger) {
    return is_smaller(part, larger) &&
           part->candidate.evidence.gain * larger->candidate.evidence.gain > 0 &&
           between(&part->candidate.opening, &larger->candidate.opening) < pause;
}

void surge_part_join(const surge_part *part, surge_part *larger) {
    const conductance_opening *a = &part->candidate.opening;
    conductance_opening *b = &larger->candidate.opening;
    const double end = fmax(a->onset + a->seconds, b->onset + b->seconds);
    b->onset = fmin(a->onset, b->onset);
    b->seconds = end - b->onset;
}

bool surge_part_is_left_of(const surge_part *part, const surge_part *larger) {
    const conductance_opening *a = &part->candidate.opening, *b = &larger->candidate.opening;
    const double size = fabs(part->candidate.evidence.gain);
    const double other = fabs(larger->candidate.evidence.gain);
    return is_smaller(part, larger) && between(a, b) < farthest &&
           (between(a, b) < -touching || fabs(a->onset - b->onset) < nearest ||
            size < told_apart * other);
}

/* ---- pairs ---- */

/* Fit both; the log-likelihood with them. */
static shot_status fit_pair(surge_scan *scan, surge_part pair[2], double *likelihood) {
    SHOT_TRY(surge_part_fit(scan, &pair[0]));
    SHOT_TRY(surge_part_fit(scan, &pair[1]));
    SHOT_TRY(surge_group_refine(scan, pair, 2));
    surge_part_put_back(scan, &pair[1]);
    *likelihood = surge_scan_likelihood_with(scan, &pair[1].candidate.opening, 1);
    surge_part_put_back(scan, &pair[0]);
    return SHOT_OK;
}

static void order(surge_part pair[2]) {
    const surge_part first = pair[0];
    if (first.candidate.opening.onset > pair[1].candidate.opening.onset) {
        pair[0] = pair[1];
        pair[1] = first;
    }
}

shot_status surge_pair_find(surge_scan *scan, const surge_candidate *guesses, size_t count,
                            double least_score, double without, double single, surge_part *out,
                            bool *found) {
    double most = -INFINITY, likelihood;
    *found = false;
    for (size_t i = 0; i < count && i < GUESSES; i++)
        for (size_t k = i + 1; k < count && k < GUESSES; k++) {
            const double apart = fabs(guesses[i].opening.onset - guesses[k].opening.onset);
            surge_part pair[2] = {{guesses[i], {0}}, {guesses[k], {0}}};
            if (!(apart > nearest && apart < farthest))
                continue;
            SHOT_TRY(fit_pair(scan, pair, &likelihood));
            order(pair);
            if (surge_part_is_left_of(&pair[0], &pair[1]) ||
                surge_part_is_left_of(&pair[1], &pair[0]) || !(likelihood > most) ||
                surge_scan_score(scan, likelihood - without) < sqrt(2) * least_score ||
                surge_scan_score(scan, likelihood - single) < least_score)
                continue;
            most = likelihood;
            memcpy(out, pair, sizeof pair);
            *found = true;
        }
    return SHOT_OK;
}
