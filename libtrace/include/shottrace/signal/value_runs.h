/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs of one and the same value, and whether noise leaves such runs.
 *
 * A sensor that is stuck, or driven past the end of its range, writes one figure again and again.
 * So does an honest one whose noise is small against the step of its figures.  What tells them
 * apart is how soon the noise would have changed the figure, and how long the other runs of the
 * channel are.
 *
 *     shot_value_runs *runs;
 *     shot_value_runs_new(&runs);
 *     for each sample that has a value: shot_value_runs_push(runs, t, y);
 *     shot_value_runs_finish(runs);
 *     for (size_t i = 0; i < shot_value_runs_count(runs); i++)
 *         if (shot_value_runs_expected(runs, i) < 0.001) ... chance makes none so long
 *     shot_value_runs_free(runs);
 */
#ifndef SHOTTRACE_SIGNAL_VALUE_RUNS_H
#define SHOTTRACE_SIGNAL_VALUE_RUNS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { SHOT_VALUE_RUN_LEAST = 8 }; /* samples of a run that is kept */

typedef struct shot_value_run {
    double from, to; /* times of its first and last sample */
    double value;
    size_t n;    /* samples */
    bool missed; /* motion went on behind it: before the run the channel moved steadily, the run is
                    at least 4 times as long as each of the 8 before it, and at its end the channel
                    jumps by at least 3 times the largest of their changes, to within a factor of
                    2.5 of where the earlier motion would have brought it */
} shot_value_run;

typedef struct shot_value_runs shot_value_runs;

/* Free with shot_value_runs_free.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_value_runs_new(shot_value_runs **out);

/* A sample; times must rise.  The memory is bounded: of runs of at least SHOT_VALUE_RUN_LEAST
 * samples the longest 512 are kept.  Nothing is allocated. */
SHOT_API void shot_value_runs_push(shot_value_runs *runs, double t, double y);

/* Many at once. */
SHOT_API void shot_value_runs_push_block(shot_value_runs *runs, const double *t, const double *y,
                                         size_t n);

/* There are no more samples. */
SHOT_API void shot_value_runs_finish(shot_value_runs *runs);

/* The runs that were kept, in order of time. */
SHOT_API size_t shot_value_runs_count(const shot_value_runs *runs);
SHOT_API const shot_value_run *shot_value_runs_at(const shot_value_runs *runs, size_t i);

/* The lowest and the highest value; NaN without samples. */
SHOT_API void shot_value_runs_range(const shot_value_runs *runs, double *low, double *high);

/* The probability at most that two neighbours show the same figure: for a signal at rest in the
 * middle of a step q, under normal noise of sd s, erf(q / (2 sqrt 2 s)).
 *
 * s is told by the share of the samples that lie 1.5 q and more from the line between their two
 * neighbours: 2 (1 - Phi(1.25 q / d)), d^2 = 1.5 (s^2 + q^2 / 12), since residuals come in halves
 * of a step; so many less two standard errors (Gasser, Sroka & Jennen-Steinmetz 1986, Biometrika
 * 73:625-633, for the residuals; Sheppard's correction for what rounding adds; the rest by our own
 * algebra from the normal law).  A figure that flickers between two neighbouring steps, as one of
 * little noise does where it passes from the one to the other, and as a meter that counts pulses
 * does, never lies so far off, and says nothing: 1.  The step is the smallest change; changes below
 * 1e-9 of the values are rounding; 1 with fewer than ten changes. */
SHOT_API double shot_value_runs_stay(const shot_value_runs *runs);

/* How many runs as long as run i the channel would show by chance, at most: n q^(m - 1), with n
 * samples, m of them in the run, and q the larger of shot_value_runs_stay and what the runs shorter
 * than half of this one tell.  Runs whose lengths are geometric with q have a length-weighted mean
 * of (1 + q) / (1 - q).  Runs at exactly 0, where many sensors rest, tell nothing.
 * More than four other runs at least half as long are a habit of the channel, of a slow sensor
 * whose figure is repeated, say: then it is their number.  A run less than three times as long as
 * each of the eight before it and the eight after it (but those of its own value) is like its
 * neighbours, in a part of the shot with little noise: then it is 1. */
SHOT_API double shot_value_runs_expected(const shot_value_runs *runs, size_t i);

/* Forget all samples and start over. */
SHOT_API void shot_value_runs_reset(shot_value_runs *runs);

SHOT_API void shot_value_runs_free(shot_value_runs *runs);

#ifdef __cplusplus
}
#endif
#endif
