/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What really happened in a simulated shot, as the marks that a perfect detector would make.
 *
 *     shot_truth_list truth = {0};
 *     SHOT_TRY(shot_truth_find(&recipe, brew, &truth));
 *     for (size_t i = 0; i < truth.count; i++)
 *         printf("%s %g\n", truth.items[i].kind, truth.items[i].from);
 *     shot_truth_free(&truth);
 *
 * The definitions hold at the puck and stand in docs/format.md, "Kinds of mark"; here they are
 * computed from the model's own pressure, free of noise, to SHOT_BREW_STEP.
 */
#ifndef SHOTTRACE_PUCK_TRUTH_H
#define SHOTTRACE_PUCK_TRUTH_H

#include <shottrace/puck/brew.h>
#include <shottrace/puck/recipe.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* All texts are static. */
typedef struct shot_truth {
    const char *kind;
    double from, to;     /* s; to is NaN where the event had not ended with the log */
    const char *channel; /* "" where the mark belongs to the whole shot */
    double value;        /* rounded to 1e-4; NaN: none */
    const char *unit;    /* of the value */
    const char *note;
} shot_truth;

/* A growing list; a zeroed one is empty. */
typedef struct shot_truth_list {
    shot_truth *items;
    size_t count, room;
} shot_truth_list;

/* Append a mark.  SHOT_ERR_MEMORY leaves the list as it was. */
SHOT_API shot_status shot_truth_add(shot_truth_list *list, shot_truth truth);

/* Append the phases, first drip, pulses, ripple, surges and knees of a brew, in seconds since the
 * start of its program.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_truth_find(const shot_recipe *recipe, const shot_brew *brew,
                                     shot_truth_list *list);

/* Put the list in order of `from`, then of kind. */
SHOT_API void shot_truth_sort(shot_truth_list *list);

SHOT_API void shot_truth_free(shot_truth_list *list);

#ifdef __cplusplus
}
#endif
#endif
