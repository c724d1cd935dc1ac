/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Openings on a grid of onsets, lengths, shapes and drains, each as credible as it makes the log
 * likely. */
#ifndef SHOT_DETECT_SURGE_TRIALS_H
#define SHOT_DETECT_SURGE_TRIALS_H

#include "detect/surge_scan.h"

enum { SURGE_GRID_LENGTHS = 16 };

/* What is tried: every onset with every length, form and what comes after, and for a scale every
 * time in which the basket may drain. */
typedef struct surge_grid {
    double first, step; /* s, of the onsets */
    size_t onsets;
    double lengths[SURGE_GRID_LENGTHS]; /* s, rising */
    size_t length_count;
    size_t forms;                     /* the first so many of conductance_form */
    double loss;                      /* of resistance, about: a late form goes by it */
    size_t drain, drain_step, drains; /* the first, from one to the next, how many; in steps of the
                                         onsets */
    size_t gates;                     /* the first so many of surge_gates */
    const double *spread; /* [channels] by how much the variances are larger than the onset needs
                             them; may be NULL: not at all */
} surge_grid;

typedef struct surge_trial {
    conductance_opening opening;
    double gain, gain_se, score;
    double surer;  /* the score with variances as the onset needs them */
    double weight; /* how credible it is; all of them sum up to 1 */
    double timed;  /* the same for onset and end, by the surer score */
} surge_trial;

typedef struct surge_trials {
    surge_trial *items; /* those that are credible at all; [count] */
    size_t count, best;
    double step;     /* s, of the onsets */
    double evidence; /* logarithm of the likelihood, times the same factor for every grid: mean over
                        drains and gates, summed over onsets a second and over shapes */
    double
        size_misfit; /* error of the gains besides their standard errors, as a share; 0 at first */
    double contradiction; /* by which the standard errors are larger since channels disagree */
    double base_se;       /* standard error of the conductance before, as a share; 0 at first */
} surge_trials;

/* Try all of `grid` with the filters as they are.
 *   out   without any that opens: count 0.  Freed by the caller with free(out->items).
 * SHOT_ERR_MEMORY. */
shot_status surge_trials_new(const surge_scan *scan, const surge_grid *grid, surge_trials *out);

/* The means, and the quantiles of the intervals, of onset, end and loss of resistance. */
typedef struct surge_figure {
    double mean, low, high;
} surge_figure;

surge_figure surge_trials_onset(const surge_trials *trials, double level);
surge_figure surge_trials_end(const surge_trials *trials, double level);
surge_figure surge_trials_loss(const surge_trials *trials, double level);

#endif
