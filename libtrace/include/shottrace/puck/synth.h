/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A simulated shot in one call: recipe, what happened, what the log says, and the truth.
 *
 *     shot_synth *shot;
 *     SHOT_TRY(shot_synth_new(SHOT_STYLE_SOAK, SHOT_GRADE_TYPICAL, seed, index, &shot));
 *     const double *pressure = shot_log_column(shot->log, "pressure");
 *     ... shot->log->rows samples; shot->truth.items[...] ...
 *     shot_synth_free(shot);
 */
#ifndef SHOTTRACE_PUCK_SYNTH_H
#define SHOTTRACE_PUCK_SYNTH_H

#include <shottrace/puck/brew.h>
#include <shottrace/puck/logger.h>
#include <shottrace/puck/recipe.h>
#include <shottrace/puck/truth.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_synth {
    shot_recipe recipe;
    shot_logger logger;
    shot_brew *brew;
    shot_log *log;
    shot_truth_list truth; /* on the log's clock, in order of time */
} shot_synth;

/* Shot `index` of `seed`, drawn with its whole spread.  `*out` is owned by the caller
 * (shot_synth_free), NULL on failure.  Errors: SHOT_ERR_RANGE, SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_synth_new(shot_style style, shot_grade grade, uint64_t seed,
                                    uint64_t index, shot_synth **out);

/* The same from a recipe and a logger made by the caller.  The recipe is moved into the result on
 * success and left alone on failure. */
SHOT_API shot_status shot_synth_brew(shot_recipe *recipe, const shot_logger *logger,
                                     shot_synth **out);

SHOT_API void shot_synth_free(shot_synth *shot);

#ifdef __cplusplus
}
#endif
#endif
