/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spikes in one channel of a shot: the Hampel identifier, and what a real signal can look like.
 *
 * A spike is a sample, or a run of samples over at most 0.12 s, that
 *   - lies farther from the median of its window than the threshold, in units of the largest of
 *     three scatters: that of the window, that of the channel lately, half a step of its figures;
 *   - is jumped to from the sample before it, and back to the sample after it;
 *   - is nothing that pump or sensor do by themselves (see spike_nature).
 * So a ramp, a knee, a step, the first and the last sample are never spikes.
 */
#ifndef SHOT_FILTER_SPIKE_FINDER_H
#define SHOT_FILTER_SPIKE_FINDER_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/option.h>

/* What is known of a kind of channel.  All figures are common practice, no source. */
typedef struct spike_nature {
    /* A pump can push so much up and the puck let it go again between samples: up to `slew` per
     * second both ways, from a level under `calm`.  0: does not apply. */
    double slew, calm;
    /* A pump runs for so many seconds at least, and gives about what it gave before: a jump from
     * under `calm` to between half of that and a fifth more, with so much time between the samples
     * on either side, is no spike.  0: does not apply. */
    double run;
    /* A meter that counts pulses writes one too many or too few now and then: a sample between
     * nothing and twice the level, or within `pulse` of it, is no spike.  0: does not count. */
    double pulse;
} spike_nature;

typedef struct spike_rule {
    shot_span window;
    double threshold;
    spike_nature nature;
} spike_rule;

typedef struct spike_verdict {
    double t, value, median;
    bool spike;
} spike_verdict;

typedef struct spike_finder spike_finder;

shot_status spike_finder_new(const spike_rule *rule, spike_finder **out);

enum { SPIKE_FINDER_BLOCK = 512 };

/* Samples that have a value, at most SPIKE_FINDER_BLOCK; all verdicts that are known must be taken
 * before the next ones come.  After a finish they start a stretch of their own. */
shot_status spike_finder_push(spike_finder *finder, const double *t, const double *y, size_t n);

/* The stretch of samples ends. */
shot_status spike_finder_finish(spike_finder *finder);

/* How many samples, in their order, are no spikes and have been passed over; where there are none,
 * ask for the next verdict.  SHOT_ERR_MEMORY. */
shot_status spike_finder_pass(spike_finder *finder, size_t *count);

/* The next verdict, in the order of the samples. */
shot_status spike_finder_next(spike_finder *finder, spike_verdict *verdict, bool *ready);

/* Forget everything. */
void spike_finder_reset(spike_finder *finder);
void spike_finder_free(spike_finder *finder);

#endif
