/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gaps: long intervals against the median of those around them. */
#include <shottrace/signal/sample_gaps.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "intervals.h"
#include "wide.h"

enum {
    BEFORE = 30, /* intervals */
    AFTER = 8,
    LEAST = 4,
    UNASKED = 16, /* samples that may be pushed before gaps are asked for; more than AFTER + 2 */
    HELD = 64     /* times; at least BEFORE + UNASKED + 1 */
};

struct shot_sample_gaps {
    shot_gap_rule rule;
    double time[HELD];       /* sample i stands in i modulo HELD */
    double shortest, latest; /* no interval held is shorter; the time of the last sample */
    size_t samples;          /* pushed */
    size_t judged;           /* intervals */
    bool finished;
};

shot_status shot_sample_gaps_new(shot_gap_rule rule, shot_sample_gaps **out) {
    *out = NULL;
    if (!(rule.length >= 0) || !(rule.factor >= 0) || rule.length + rule.factor == 0)
        return SHOT_ERR_RANGE;
    shot_sample_gaps *gaps = calloc(1, sizeof *gaps);
    if (gaps == NULL)
        return SHOT_ERR_MEMORY;
    gaps->rule = rule;
    shot_sample_gaps_reset(gaps);
    *out = gaps;
    return SHOT_OK;
}

void shot_sample_gaps_free(shot_sample_gaps *gaps) {
    free(gaps);
}

void shot_sample_gaps_reset(shot_sample_gaps *gaps) {
    gaps->samples = gaps->judged = 0;
    gaps->shortest = INFINITY;
    gaps->latest = -INFINITY;
    gaps->finished = false;
}

shot_status shot_sample_gaps_push(shot_sample_gaps *gaps, double t) {
    if (gaps->samples - gaps->judged >= UNASKED)
        return SHOT_ERR_RANGE;
    if (!isfinite(t) || t < gaps->latest)
        return SHOT_ERR_DATA;
    if (gaps->samples > 0 && t - gaps->latest < gaps->shortest)
        gaps->shortest = t - gaps->latest;
    gaps->time[gaps->samples++ % HELD] = t;
    gaps->latest = t;
    return SHOT_OK;
}

/* From sample i to the next. */
static double interval(const shot_sample_gaps *gaps, size_t i) {
    return gaps->time[(i + 1) % HELD] - gaps->time[i % HELD];
}

/* Of the intervals that are not judged, or not known, yet: the longest; of all: the shortest. */
static shot_intervals intervals_with(const shot_sample_gaps *gaps, double next,
                                     const shot_intervals *between) {
    shot_intervals of = *between;
    of.shortest = lesser(gaps->shortest, of.shortest);
    for (size_t i = gaps->judged; i + 1 < gaps->samples; i++)
        of.longest = greater(interval(gaps, i), of.longest);
    if (gaps->samples > 0)
        intervals_take_one(next - gaps->latest, &of);
    return of;
}

/* No median is below the shortest. */
bool shot_sample_gaps_none(const shot_sample_gaps *gaps, const double *t, size_t n,
                           const shot_intervals *between) {
    const shot_gap_rule rule = gaps->rule;
    if (n == 0)
        return true;
    const shot_intervals of = intervals_with(gaps, t[0], between);
    return of.shortest > 0 &&
           of.longest <= (rule.length > 0 ? rule.length : rule.factor * of.shortest);
}

/* The last of n times, up to the end of the ring and from its start on. */
static void hold(shot_sample_gaps *gaps, const double *t, size_t n) {
    const size_t skipped = n > HELD ? n - HELD : 0, count = n - skipped;
    const size_t place = (gaps->samples + skipped) % HELD, room = HELD - place;
    const size_t first = count < room ? count : room;
    memcpy(gaps->time + place, t + skipped, first * sizeof *t);
    memcpy(gaps->time, t + skipped + first, (count - first) * sizeof *t);
}

void shot_sample_gaps_pass(shot_sample_gaps *gaps, const double *t, size_t n,
                           const shot_intervals *between) {
    if (n == 0)
        return;
    gaps->shortest = intervals_with(gaps, t[0], between).shortest;
    hold(gaps, t, n);
    gaps->samples += n;
    gaps->latest = t[n - 1];
    if (gaps->samples > gaps->judged + 1 + AFTER)
        gaps->judged = gaps->samples - 1 - AFTER;
}

void shot_sample_gaps_finish(shot_sample_gaps *gaps) {
    gaps->finished = true;
}

/* The intervals around number i, in order of time; how many there are. */
static size_t neighbours(const shot_sample_gaps *gaps, size_t i, double *out) {
    const size_t first = i > BEFORE ? i - BEFORE : 0, all = gaps->samples - 1;
    const size_t end = i + 1 + AFTER < all ? i + 1 + AFTER : all;
    for (size_t k = first; k < end; k++)
        out[k - first] = interval(gaps, k);
    return end - first;
}

/* No interval that a later median sees is shorter than the shortest from number i - BEFORE on. */
static void look_for_shortest(shot_sample_gaps *gaps, size_t i) {
    gaps->shortest = INFINITY;
    for (size_t k = i > BEFORE ? i - BEFORE : 0; k + 1 < gaps->samples; k++)
        gaps->shortest = fmin(gaps->shortest, interval(gaps, k));
}

/* Whether interval i is a gap; `spacing` then gets what is usual there. */
static bool is_gap(shot_sample_gaps *gaps, size_t i, double *spacing) {
    const shot_gap_rule rule = gaps->rule;
    const double length = interval(gaps, i);
    double around[BEFORE + 1 + AFTER];
    /* The median is not below the shortest: nearly always that settles it. */
    if (length <= (rule.length > 0 ? rule.length : rule.factor * gaps->shortest))
        return false;
    const size_t n = neighbours(gaps, i, around);
    look_for_shortest(gaps, i);
    *spacing = shot_median(around, n);
    return rule.length > 0 || (n >= LEAST && length > rule.factor * *spacing);
}

/* An interval is judged when those after it are known, or will not come. */
static bool can_judge(const shot_sample_gaps *gaps) {
    return gaps->judged + 1 + (gaps->finished ? 0 : AFTER) < gaps->samples;
}

shot_status shot_sample_gaps_next(shot_sample_gaps *gaps, shot_gap *gap, bool *ready) {
    for (*ready = false; !*ready && can_judge(gaps);) {
        const size_t i = gaps->judged++;
        double spacing;
        *ready = is_gap(gaps, i, &spacing);
        if (*ready)
            *gap = (shot_gap){gaps->time[i % HELD], gaps->time[(i + 1) % HELD], spacing};
    }
    return SHOT_OK;
}
