/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which knees could be found at all. */
#include "support/knee_limit.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/distribution.h>

static const double beside = 2;        /* s on either side in which the trend is a polynomial */
static const double of_a_pair = 1;     /* s between its knees, at most */
static const double alarm_rate = 0.01; /* of logs, either sign */

const char *knee_limit_name(knee_limit_case which) {
    static const char *const names[KNEE_LIMIT_COUNT] = {
        "straight trend, one by one", "straight trend, in pairs", "bent trend, one by one",
        "bent trend, in pairs"};
    return names[which];
}

void knee_limit_knees_of(const shot_truth_list *truth, knee_limit_knees *out) {
    out->count = 0;
    for (size_t i = 0; i < truth->count && out->count < KNEE_LIMIT_MOST; i++) {
        const shot_truth *t = &truth->items[i];
        if (strcmp(t->kind, "knee") != 0 || isnan(t->from))
            continue;
        out->at[out->count] = t->from;
        out->change[out->count++] = t->value;
    }
}

/* The nearest of the other sign; `one` itself if there is none. */
static size_t partner_of(const knee_limit_knees *knees, size_t one) {
    size_t best = one;
    double least = of_a_pair;
    for (size_t i = 0; i < knees->count; i++) {
        const double distance = fabs(knees->at[i] - knees->at[one]);
        if (knees->change[i] * knees->change[one] < 0 && distance <= least) {
            best = i;
            least = distance;
        }
    }
    return best;
}

static double kink(const knee_limit_knees *knees, size_t i, double t) {
    return fmax(t - knees->at[i], 0);
}

/* d of one knee, or of two together, at those instants of which something is logged. */
static double ratio_of(const ideal_curves *curves, const double *t, size_t n,
                       const knee_limit_knees *knees, size_t one, size_t partner, size_t degree) {
    double *change = malloc((n + 1) * (degree + knees->count + 2) * sizeof *change);
    double *trend = change + n, before = 0;
    size_t columns = degree + 1;
    if (change == NULL)
        abort();
    for (size_t k = 0; k < n; k++) {
        change[k] = knees->change[one] * kink(knees, one, t[k]);
        if (partner != one)
            change[k] += knees->change[partner] * kink(knees, partner, t[k]);
        before += change[k] * change[k];
        for (size_t power = 0; power <= degree; power++)
            trend[power * n + k] = pow(t[k] - knees->at[one], (double)power);
    }
    for (size_t i = 0; i < knees->count; i++) {
        if (i == one || i == partner || fabs(knees->at[i] - knees->at[one]) >= beside)
            continue;
        for (size_t k = 0; k < n; k++)
            trend[columns * n + k] = kink(knees, i, t[k]);
        columns++;
    }
    const double left = n > columns ? ideal_left_over(change, trend, columns, n) : 0;
    free(change);
    return left > 1e-14 * before ? sqrt(left) / curves->noise[0] : 0;
}

double knee_limit_ratio(const ideal_curves *curves, const double *times, size_t rows,
                        const knee_limit_knees *knees, size_t one, knee_limit_case which) {
    const bool pairs = which == KNEE_LIMIT_STRAIGHT_PAIRS || which == KNEE_LIMIT_BENT_PAIRS;
    const size_t degree = which == KNEE_LIMIT_BENT || which == KNEE_LIMIT_BENT_PAIRS ? 2 : 1;
    double *t = malloc((rows + 1) * sizeof *t);
    size_t n = 0;
    if (t == NULL)
        abort();
    for (size_t i = 0; i < rows; i++)
        if (!isnan(curves->logged[0][i]) && fabs(times[i] - knees->at[one]) <= beside)
            t[n++] = times[i];
    double ratio = ratio_of(curves, t, n, knees, one, one, degree);
    const size_t partner = pairs ? partner_of(knees, one) : one;
    if (partner != one)
        ratio = fmax(ratio, ratio_of(curves, t, n, knees, one, partner, degree));
    free(t);
    return ratio;
}

double knee_limit_chance(double ratio, double seconds) {
    const double threshold = shot_normal_quantile(1 - alarm_rate / 2 / fmax(1, seconds));
    return shot_normal_tail(threshold - ratio);
}

void knee_limit_add(const ideal_curves *curves, const double *times, size_t rows,
                    const knee_limit_knees *knees, knee_limit *sums) {
    const double seconds = rows > 0 ? times[rows - 1] - times[0] : 0;
    sums->logs++;
    sums->knees += knees->count;
    for (size_t i = 0; i < knees->count; i++)
        for (int k = 0; k < KNEE_LIMIT_COUNT; k++)
            sums->found[k] += knee_limit_chance(
                knee_limit_ratio(curves, times, rows, knees, i, (knee_limit_case)k), seconds);
}

double knee_limit_f1(const knee_limit *sums, knee_limit_case which) {
    const double hits = sums->found[which], false_ones = alarm_rate * (double)sums->logs;
    return 2 * hits / (hits + (double)sums->knees + false_ones);
}
