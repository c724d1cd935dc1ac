/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gaps between the samples of one channel: intervals much longer than its own usual spacing.
 *
 *     shot_sample_gaps *gaps;
 *     shot_sample_gaps_new((shot_gap_rule){.factor = 5}, &gaps);
 *     for each sample that has a value:
 *         shot_sample_gaps_push(gaps, t);
 *         while (shot_sample_gaps_next(gaps, &gap, &ready) == SHOT_OK && ready) use gap
 *     shot_sample_gaps_finish(gaps);
 *     and once more the line with _next
 *     shot_sample_gaps_free(gaps);
 *
 * The usual spacing is the median of an interval, the 30 before it and the 8 after it, so that
 * jitter, single lost samples and the gap itself do not move it, and a change of rate does.
 */
#ifndef SHOTTRACE_SIGNAL_SAMPLE_GAPS_H
#define SHOTTRACE_SIGNAL_SAMPLE_GAPS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What is a gap where nobody says otherwise, as a factor: an interval of more usual spacings than
 * this.  Common practice, no source. */
#define SHOT_GAP_FACTOR 5

/* An interval is a gap if it is longer than `length` s where that is above 0, else longer than
 * `factor` times the usual spacing. */
typedef struct shot_gap_rule {
    double length, factor;
} shot_gap_rule;

typedef struct shot_gap {
    double from, to; /* times of the samples around it, s */
    double spacing;  /* usual at that place, s */
} shot_gap;

/* Of the intervals between times; infinite and 0 where there are none. */
typedef struct shot_intervals {
    double shortest, longest; /* s */
} shot_intervals;

typedef struct shot_sample_gaps shot_sample_gaps;

/* Free with shot_sample_gaps_free.  SHOT_ERR_RANGE if both figures are 0, or one is negative;
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_sample_gaps_new(shot_gap_rule rule, shot_sample_gaps **out);

/* A sample at `t`.  The memory does not grow with their number: gaps found must be asked for before
 * the next sample, SHOT_ERR_RANGE if several samples were pushed without.  SHOT_ERR_DATA for a time
 * that falls; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_sample_gaps_push(shot_sample_gaps *gaps, double t);

/* Whether n more samples, at times that rise, would show no gap, now or when more follow; false
 * where that takes a closer look.  `between` are the intervals between these times, which channels
 * may share. */
SHOT_API bool shot_sample_gaps_none(const shot_sample_gaps *gaps, const double *t, size_t n,
                                    const shot_intervals *between);

/* Push such samples all at once. */
SHOT_API void shot_sample_gaps_pass(shot_sample_gaps *gaps, const double *t, size_t n,
                                    const shot_intervals *between);

/* There are no more samples. */
SHOT_API void shot_sample_gaps_finish(shot_sample_gaps *gaps);

/* The next gap, in order of time; *ready false if none is known yet.  With fewer than four
 * intervals there is no usual spacing, and by `factor` no gap.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_sample_gaps_next(shot_sample_gaps *gaps, shot_gap *gap, bool *ready);

/* Forget all samples and start over. */
SHOT_API void shot_sample_gaps_reset(shot_sample_gaps *gaps);

SHOT_API void shot_sample_gaps_free(shot_sample_gaps *gaps);

#ifdef __cplusplus
}
#endif
#endif
