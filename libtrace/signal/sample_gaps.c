/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gaps: a running median over the intervals between samples. */
#include <shottrace/signal/sample_gaps.h>

#include <stdlib.h>

#include <shottrace/signal/running_median.h>

enum {
    BEFORE = 30, /* intervals */
    AFTER = 8,
    LEAST = 4,
    HELD = 16 /* times; more than AFTER + 2 */
};

struct shot_sample_gaps {
    shot_gap_rule rule;
    shot_running_median *spacing;
    double time[HELD]; /* sample i stands in i modulo HELD */
    size_t samples;    /* pushed */
    size_t judged;     /* intervals */
};

shot_status shot_sample_gaps_new(shot_gap_rule rule, shot_sample_gaps **out) {
    *out = NULL;
    if (!(rule.length >= 0) || !(rule.factor >= 0) || rule.length + rule.factor == 0)
        return SHOT_ERR_RANGE;
    shot_sample_gaps *gaps = calloc(1, sizeof *gaps);
    if (gaps == NULL)
        return SHOT_ERR_MEMORY;
    gaps->rule = rule;
    const shot_reach reach = {BEFORE, AFTER, true};
    const shot_status status =
        shot_running_median_new(reach, SHOT_MISSING_SERVED, false, &gaps->spacing);
    if (status != SHOT_OK) {
        free(gaps);
        return status;
    }
    *out = gaps;
    return SHOT_OK;
}

void shot_sample_gaps_free(shot_sample_gaps *gaps) {
    if (gaps != NULL)
        shot_running_median_free(gaps->spacing);
    free(gaps);
}

void shot_sample_gaps_reset(shot_sample_gaps *gaps) {
    shot_running_median_reset(gaps->spacing);
    gaps->samples = gaps->judged = 0;
}

shot_status shot_sample_gaps_push(shot_sample_gaps *gaps, double t) {
    if (gaps->samples - gaps->judged >= HELD)
        return SHOT_ERR_RANGE;
    if (gaps->samples > 0)
        SHOT_TRY(
            shot_running_median_push(gaps->spacing, t, t - gaps->time[(gaps->samples - 1) % HELD]));
    gaps->time[gaps->samples % HELD] = t;
    gaps->samples++;
    return SHOT_OK;
}

void shot_sample_gaps_finish(shot_sample_gaps *gaps) {
    shot_running_median_finish(gaps->spacing);
}

static bool is_gap(const shot_sample_gaps *gaps, const shot_median_at *at) {
    if (gaps->rule.length > 0)
        return at->value > gaps->rule.length;
    return at->n >= LEAST && at->value > gaps->rule.factor * at->median;
}

shot_status shot_sample_gaps_next(shot_sample_gaps *gaps, shot_gap *gap, bool *ready) {
    for (;;) {
        shot_median_at at;
        SHOT_TRY(shot_running_median_next(gaps->spacing, &at, ready));
        if (!*ready)
            return SHOT_OK;
        const size_t i = gaps->judged++;
        if (is_gap(gaps, &at)) {
            *gap = (shot_gap){gaps->time[i % HELD], gaps->time[(i + 1) % HELD], at.median};
            return SHOT_OK;
        }
    }
}
